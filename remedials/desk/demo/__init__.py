"""A firm to look at: invented people and places with a history of several years, told through the operations.

Everything is relative to the day on which it is loaded. Names are plainly invented, telephone numbers are from the
ranges reserved for drama, addresses at example.com and example.org, post codes that don't exist.
"""
