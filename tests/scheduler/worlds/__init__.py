"""Cars whose truth is drawn from priors other than the core's: how well its dates hold in foreign worlds."""
