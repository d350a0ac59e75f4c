package hostile

// heavy are meshes and plates that would take all time or all memory.
var heavy = []Case{}
