"""What is printed or carried: cards as PDF, a page for a phone."""
