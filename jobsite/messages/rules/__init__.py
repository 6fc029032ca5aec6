"""Pure rules of messages: how a letter looks, what a delivery report says."""
