"""The command line: the only room that speaks to a screen."""
