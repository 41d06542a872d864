"""What the network carries: traffic, carriers, lease, growth, the transmission plan."""
