"""One engine, one speed, one periodic cycle; and many speeds."""
