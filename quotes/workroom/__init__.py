"""How the workroom works: rates, overhead, standard minutes, constructions."""
