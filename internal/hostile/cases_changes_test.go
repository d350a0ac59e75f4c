package hostile

// changes are pairs of meshes and of revisions to compare.
var changes = []Case{}
