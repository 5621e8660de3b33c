"""The farm folder: models, tables, places and the catalogue of job kinds."""
