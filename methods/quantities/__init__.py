"""What is measured and in which terms: substances, units, flags, stamps and what a stamp stands for."""
