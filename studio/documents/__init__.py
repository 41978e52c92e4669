"""Documents of the bench, set from data and never from markup."""
