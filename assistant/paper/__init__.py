"""What is printed: job sheet, report, tables, plans."""
