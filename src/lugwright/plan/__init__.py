"""What to do about it: the verdict, the next check, the work with its cautions."""
