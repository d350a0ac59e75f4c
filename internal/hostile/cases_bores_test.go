package hostile

// bores are meshes that are hard to look for holes in.
var bores = []Case{}
