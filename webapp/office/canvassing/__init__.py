"""The weeks after: ballots added, recounts, corrected returns, editions and their files, certifying."""
