"""Pure rules of printing: sheets, symbols on the printer's dots, text that fits."""
