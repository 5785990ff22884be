"""One replication watched day by day."""
