"""What the page of an answer says of a season."""
