"""The machine beneath: environment, files that outlive a kill, locks, the queue, keys, outages."""
