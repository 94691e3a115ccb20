"""The plan of a site, the round on the phone and on paper, labels, staff and equipment."""
