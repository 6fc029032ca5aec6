"""The pages of people, their competence, instruments, and the firm itself."""
