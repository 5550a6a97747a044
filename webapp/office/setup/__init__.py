"""What the office makes before the day: its office file, keys and certificates, place files, kits."""
