"""Drawings, documents, the files handed to the bench and the client."""
