"""The only writers of the ledger: verbs people use, bins they keep, one posting."""
