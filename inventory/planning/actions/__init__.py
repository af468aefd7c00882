"""The only writers of the plan: importing a file, and what happens to assemblies."""
