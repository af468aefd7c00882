"""Shapes of the shop itself: its log, its people, its backups."""

from typing import Any

from rest_framework import serializers

from inventory.people.rules import Role

CHOSEN = [role.value for role in Role if role is not Role.OWNER]


class WentInOut(serializers.Serializer[Any]):
    """Of one item what an assembly asked for, used and spoiled, and from where."""

    words = serializers.CharField()
    need = serializers.IntegerField()
    used = serializers.IntegerField()
    spoiled = serializers.IntegerField()
    bins = serializers.ListField(child=serializers.IntegerField())
    lots = serializers.ListField(child=serializers.CharField())


class HappenedOut(serializers.Serializer[Any]):
    """A closing, or a reopening."""

    at = serializers.DateTimeField()
    by = serializers.CharField()
    closed = serializers.BooleanField()
    note = serializers.CharField()


class TakenBackOut(serializers.Serializer[Any]):
    """What was done and taken back, and who did each."""

    act = serializers.IntegerField()
    did = serializers.CharField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    taken_back_at = serializers.DateTimeField(allow_null=True)
    taken_back_by = serializers.CharField()


class PictureOut(serializers.Serializer[Any]):
    """A photograph of the assembly; its file is named by its SHA-256."""

    sha256 = serializers.CharField()
    caption = serializers.CharField()
    at = serializers.DateTimeField()
    by = serializers.CharField()


class LogEntryOut(serializers.Serializer[Any]):
    """One assembly in the log: as its last closing noted it, else as it stands now."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    how_many = serializers.IntegerField()
    begun_at = serializers.DateTimeField()
    begun_by = serializers.CharField()
    closed_at = serializers.DateTimeField(allow_null=True)
    closed_by = serializers.CharField()
    went_in = WentInOut(many=True)
    stood_in = serializers.ListField(child=serializers.CharField())
    mixed_up = serializers.ListField(child=serializers.CharField())
    people = serializers.ListField(child=serializers.CharField())
    days = serializers.ListField(child=serializers.DateField())
    history = HappenedOut(many=True)
    taken_back = TakenBackOut(many=True)
    photographs = PictureOut(many=True)


class StageLogOut(serializers.Serializer[Any]):
    """A stage with the assemblies that were begun in it."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    assemblies = LogEntryOut(many=True)


class PersonOut(serializers.Serializer[Any]):
    """Somebody who works or worked in the shop."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    role = serializers.ChoiceField(choices=[role.value for role in Role])
    may_sign_in = serializers.BooleanField()


class PersonIn(serializers.Serializer[Any]):
    """Somebody new."""

    name = serializers.CharField(max_length=60)
    role = serializers.ChoiceField(choices=CHOSEN)
    password = serializers.CharField(max_length=128, trim_whitespace=False)


class PersonChange(serializers.Serializer[Any]):
    """What is to be otherwise; another password ends that person's sessions."""

    role = serializers.ChoiceField(choices=CHOSEN, required=False)
    password = serializers.CharField(
        max_length=128, trim_whitespace=False, required=False
    )
    may_sign_in = serializers.BooleanField(required=False)


class BackupOut(serializers.Serializer[Any]):
    """A backup in the shop's own folder, proven when it was made."""

    file = serializers.CharField()
    at = serializers.DateTimeField()
    bytes = serializers.IntegerField()
