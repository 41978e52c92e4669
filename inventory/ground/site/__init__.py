"""The ground's Django half: fields, forms of acts, lists and downloads, commands, rules that the database keeps."""
