package hostile

// publishing are output folders, caches and releases at the moment of publishing.
var publishing = []Case{}
