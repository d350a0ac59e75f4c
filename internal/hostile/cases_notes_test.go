package hostile

// notesAndFolders are notes, tables, names and folders.
var notesAndFolders = []Case{}
