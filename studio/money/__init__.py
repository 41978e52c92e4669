"""Open money: what each piece was invoiced, credited, paid and paid back, and so what is due and what is held."""
