"""What must hold after every step of a life, whatever people do."""
