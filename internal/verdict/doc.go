// Package verdict judges: it turns measures, plates and materials into findings
// with a place, into the answer for each plate, and into the material table.
//
// Everything here is a pure function of its arguments. A release is judged in
// slots: each part that the release needs, and each group of parts of which the
// builder picks one. A whole part that split pieces replace fills its slot
// either itself or by all of its pieces. A release fits a plate when every slot
// is filled, and its standing in a material is that of its worst slot.
//
// A standing rests on rules, which hold measures and declarations against the
// bench, and on prints in the log of exactly the mesh that stands in the folder
// today: see Decide. What was printed of an earlier mesh proves nothing of this
// one, and is told as such.
//
// What is bought is summed and cut by Hardware and CutLists, what prints use up of a
// stock is reckoned by ReleaseNeeds, PlateNeeds and PartNeed. All of it is a model of
// a workshop: what is taken for granted stands in the answer, in words.
//
// Cautions, Stands and Credits answer for a release as a whole: what it calls for and on
// what ground, whether its figure stands, and whether the works it adapts go with
// its licence.
package verdict
