"""What `precinct` and `office` need to run a server: the start, its checks, the tablets' listener, its name."""
