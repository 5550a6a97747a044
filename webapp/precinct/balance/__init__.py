"""The balance: figures of a night as they are typed, the lines that follow from them, in words."""
