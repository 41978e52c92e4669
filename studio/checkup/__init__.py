"""What the machine and the books are in before work begins: disk, permissions, schema, damage, guards, clock."""
