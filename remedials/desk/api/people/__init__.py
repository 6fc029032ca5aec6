"""People, skills, hours, instruments, private links, tokens, and the firm itself."""
