"""What is recorded, and what people see."""
