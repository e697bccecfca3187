"""From what has arrived to what is said: red flags first, then the conversation."""
