"""What one costs, and of what that is made up."""
