"""The bench: jobs, their stages, operations, time, seams and materials."""
