"""A search for one fault: causes with priors, tests with the chance of each result, the test next."""
