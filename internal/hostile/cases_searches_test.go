package hostile

// searches are parts that make a search long: fits, layouts, outlines, small parts.
var searches = []Case{}
