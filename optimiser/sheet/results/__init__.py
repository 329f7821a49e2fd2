"""Studies shown: tables, spreadsheets, charts. Nothing is solved or decided here."""
