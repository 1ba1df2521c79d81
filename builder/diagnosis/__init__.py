"""Diagnosis: from what is seen to the likely causes, the next question and the best fix."""
