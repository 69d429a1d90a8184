"""What keeps strangers out: passcode, sessions, tokens, limits, uploads and the client's signed links."""
