"""The desk: quotes from draft to decision, their options, figures, prices and documents."""
