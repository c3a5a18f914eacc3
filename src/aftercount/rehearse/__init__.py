"""A simulator of counts and of the logs kept of them, with the truth beside them."""
