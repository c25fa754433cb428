"""Quality control of a campaign: measured with each judging, held against the acceptance limits when it is shown."""
