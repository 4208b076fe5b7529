"""The doors: command line, HTTP API and pages over the same lookups."""
