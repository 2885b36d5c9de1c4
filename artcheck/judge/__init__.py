"""One measurement against one limit becomes a finding; findings become a verdict."""
