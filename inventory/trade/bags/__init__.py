"""What the printed codes on a supplier's bag say: GS1, ISO/IEC 15434, text elements."""
