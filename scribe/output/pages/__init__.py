"""Pages of a PDF: cover, sheets, the page to mark a blank by."""
