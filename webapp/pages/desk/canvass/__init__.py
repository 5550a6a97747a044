"""Pages of the canvass: counts after the night, recounts, corrected returns, certifying."""
