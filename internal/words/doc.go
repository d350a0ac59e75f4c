// Package words writes numbers, units, dates, plurals, lists and names for people, each
// in one way, so that what is printed never says something else than what was measured.
//
// Its rule for numbers: digits are added until the text stands to the text beside
// it as the number stands to the number. A wall of 1.9996 mm that is under a limit
// of 2 mm is never "2.00 mm, under 2 mm"; room that is left is never "0.00 mm"; what
// is called the most is rounded up, and the least down.
//
// Numbers are plain decimals with a point, without groups; pages set them as they
// like. Names keep the capitals that belong to them: "Rigid resin" becomes "rigid
// resin" within a sentence, "PLA-like" stays.
package words
