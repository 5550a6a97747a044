"""The server in front of Flask: connections and their limits, TLS, the bridge to WSGI."""
