"""The order plan as a mixed-integer program, solved in a process of its own."""
