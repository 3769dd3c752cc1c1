"""What the nights tell beyond themselves: what is going wrong, and what the site really is."""
