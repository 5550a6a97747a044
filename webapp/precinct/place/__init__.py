"""The place file of one polling place: its form, its rules, its checks, its steps."""
