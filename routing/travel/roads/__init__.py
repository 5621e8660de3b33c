"""Roads: an OpenStreetMap extract made into drives, offline. Only this package imports the road engine and its readers.

tags      what a vehicle may use and how fast, from the tags of one way
extract   the extract read once: ways, barriers, place names
build     tiles for each sort of vehicle, in the user's cache folder
engine    snapping, times and distances, and ways, from built tiles
kept      nearest roads and the whole matrix, kept on disk
store     lines and names for the map's background
farm      the legs of a farm, and its walks
"""
