"""Documents that a customer keeps, each made of what is on record, kept by its file and checked by it later."""
