"""The page of one car: what every room says of it."""
