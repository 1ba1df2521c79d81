"""The diagnosis as it runs on both sides: exact probabilities, questions, fixes."""
