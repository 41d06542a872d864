"""How sure the plan is: years and months, what would change it, its grade."""
