"""What is kept as it stood when somebody put their name to it: records, their JSON, its one spelling and digest."""
