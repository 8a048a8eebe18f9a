"""DXF drawings, plain and of apparel."""
