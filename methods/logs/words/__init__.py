"""What the words of a header mean: parameters, units, serial numbers, in several languages."""
