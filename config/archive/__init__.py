"""All of one crew's data as one file that people can read too, and into another server."""
