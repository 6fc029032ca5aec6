"""What shows everything together: searching, what was done at a site, all units of a customer."""
