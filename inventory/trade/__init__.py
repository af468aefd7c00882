"""Trade knowledge: callouts, lengths, drills, holders, codes; pure."""
