"""procgen: site-specific installation guides for plumbed-in espresso machines."""
