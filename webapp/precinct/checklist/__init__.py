"""The checklists: tasks of the moment, their forms, what they must say and how they read."""
