package hostile

// photos are photos and what calls itself one.
var photos = []Case{}
