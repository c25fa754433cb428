"""An invented building, its instruments and their faults: log files with a known truth for the whole pipeline."""
