"""The one plan of moves: at which bearing, by how much, with which shims, to which reading."""
