"""A search for one fault: causes with priors, tests with the chance of each result, and the test worth most next."""
