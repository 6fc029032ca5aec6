"""A copy of a report for tenants and authorities, with personal data left out."""
