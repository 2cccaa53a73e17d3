"""What cabins look like from outside: bodies in, answers out."""
