// Package reprint says what somebody who printed an earlier revision of a release has to
// print again, buy or cut anew, and what each revision brought.
//
// Advise answers for one step between two states, for each process and, where the cuts
// differ, for rigid and for flexible stock apart: it follows what is printed, not what
// files are called. Of gathers a release's revisions with their notes and the advice for
// each. A mesh that differs by less than the site's printing tolerance is as good as the
// same. What cannot be read today is "not known", never "the same".
package reprint
