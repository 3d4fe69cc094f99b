"""Pictures of the manual that are made when it is built."""
