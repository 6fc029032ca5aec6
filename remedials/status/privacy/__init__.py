"""How long personal data are kept, what of them is shed, handed over and erased, and the page that says so."""
