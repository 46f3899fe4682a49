"""The surveyed opening: form, report, views, lists for the workshop."""
