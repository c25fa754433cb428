"""What judging and its pages read of a campaign, as plain rows."""
