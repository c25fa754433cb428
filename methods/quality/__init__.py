"""Quality control of direct-reading measurements (docs/methods/quality-control.md). Pure."""
