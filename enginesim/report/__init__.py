"""Tables, files and figures: the only conversion of units on the way out."""
