"""The guide in the reader's hand: a real browser with a phone's screen, and a web server that can fail."""
