"""How sure an answer is: many random trucks as far off as the inputs may be, and what each input has to do with it."""
