"""What each possible reference of a line would cost."""
