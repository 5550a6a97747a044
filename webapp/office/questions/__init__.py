"""What is open about a place: its questions, gaps, findings and who carried its goods."""
