"""What a browser tab remembers."""
