"""What an alteration changed, told and as JSON."""
