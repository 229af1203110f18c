"""What the people in the control room see: a screen to read from two metres, or plain lines."""
