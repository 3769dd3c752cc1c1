"""What is going wrong on a site, out of the log of its nights: causes, likeliest first."""
