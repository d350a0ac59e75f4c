// Package verdict judges: it turns measures, plates and materials into findings
// with a place, into the answer for each plate, and into the material table.
//
// Everything here is a pure function of its arguments. A release is judged in
// slots: each part that the release needs, and each group of parts of which the
// builder picks one. A whole part that split pieces replace fills its slot
// either itself or by all of its pieces. A release fits a plate when every slot
// is filled, and its standing in a material is that of its worst slot.
//
// It is a stage. Check takes a site and its survey and holds notes and meshes against the
// bench and each other; Judge adds what rests on history and on laid plates, and gives one
// value, Judged, with everything that pages, archives, data files and commands show. Each
// answer is made once; whoever shows it reads it there and computes nothing. What stands
// between a site and its publishing needs Check alone, so that no plate is laid for a
// site that is held back.
//
// Rooms behind it answer questions of their own: seats ties bought items to holes, standing
// weighs what the rules here say against the prints that are logged, needs reckons what
// prints take, reprint says what to print again. Package backlog reads a Judged, for the
// designer alone.
package verdict
