"""What a design looks like to people and programs: tables, records, drawings. Computes nothing."""
