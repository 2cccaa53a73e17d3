"""The floor every app stands on: problem documents, pages, versions, description. Imports no app."""
