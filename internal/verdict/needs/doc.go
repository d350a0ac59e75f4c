// Package needs reckons what prints take: material, money and time.
//
// Of answers for a full print of a release, by each process and in each stock that it may
// be printed in, with what of it single parts and laid plates take; OfParts answers for
// some parts. Volumes come from the meshes; everything else is a model of a workshop, and
// each figure that is not measured stands in Need.Assumed as a sentence. What cannot be
// counted is named in Need.Left, never taken for nothing.
package needs
