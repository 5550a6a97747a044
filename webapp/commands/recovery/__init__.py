"""What `tapeseal record` does with sticks: a copy, the restore, what comes back, what is lost."""
