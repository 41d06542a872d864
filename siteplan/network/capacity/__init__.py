"""What the network carries and what that takes: traffic, lease."""
