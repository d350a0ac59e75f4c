package hostile

// archives are 3MF files and the archives that they are.
var archives = []Case{}
