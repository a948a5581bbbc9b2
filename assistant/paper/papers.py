"""The papers that a sheet may be printed on, by the name on the command line, as CSS calls them."""

PAPERS = {"a4": "A4", "letter": "letter"}
