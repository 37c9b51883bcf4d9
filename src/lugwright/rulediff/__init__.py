"""What two rule bases say differently, by meaning, and what that does to cases."""
