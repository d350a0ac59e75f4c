// Package verdict judges: it turns measures, plates and materials into findings
// with a place, into the answer for each plate, and into the material table.
//
// Everything here is a pure function of its arguments. A release is judged in
// slots: each part that the release needs, and each group of parts of which the
// builder picks one. A whole part that split pieces replace fills its slot
// either itself or by all of its pieces. A release fits a plate when every slot
// is filled, and it is offered in a material when every slot has a cut.
package verdict
