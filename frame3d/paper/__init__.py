"""Pages for the shop and the customer: PDF, SVG and DXF."""
