"""What the network carries: traffic, carriers, lease, growth."""
