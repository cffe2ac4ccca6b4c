"""What each function must do, declared as rows, judged with uncertainty."""
