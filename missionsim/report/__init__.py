"""Tables, figures and files for people and programs."""
