package standing

import "slices"

// Standing is the state of a part or a release in a material. The order from
// best to worst is that of Standings, and what rests on several grounds has the
// worst of them.
type Standing string

const (
	Proven       Standing = "proven"        // a good print of exactly these meshes is logged
	Expected     Standing = "expected"      // every rule passes, and nobody has logged a print
	WithCare     Standing = "with care"     // printable, with the caution that is named
	NeedsReprint Standing = "needs reprint" // was proven; the mesh has changed since
	NotSuited    Standing = "not suited"    // a rule fails, or every print failed
	NotOffered   Standing = "not offered"   // there is no mesh to print
)

// Standings lists them from best to worst. What needs a reprint comes after what
// wants care: a claim that has lapsed is to be renewed whatever else is so.
var Standings = []Standing{Proven, Expected, WithCare, NeedsReprint, NotSuited, NotOffered}

func (s Standing) rank() int { return slices.Index(Standings, s) }

// worst is the worst of some standings, of which there is at least one.
func worst(first Standing, more ...Standing) Standing {
	for _, s := range more {
		if s.rank() > first.rank() {
			first = s
		}
	}
	return first
}

// Answer is what a rule says of a mesh in a material.
type Answer int

const (
	Passes Answer = iota
	Care
	Fails
	Missing // there is nothing to judge: no mesh, or none that can be read
)

// unprinted is the standing that an answer alone is ground for.
func (a Answer) unprinted() Standing {
	return [...]Standing{Expected, WithCare, NotSuited, NotOffered}[a]
}

// RuleCode names a rule that a standing rests on.
type RuleCode string

const (
	RuleCut         RuleCode = "cut"          // there is a cut for the process
	RuleFlexibleCut RuleCode = "flexible-cut" // a part that has to bend has a cut for it
	RuleReadable    RuleCode = "readable"     // its mesh can be read
	RuleSolid       RuleCode = "solid"        // the mesh encloses something
	RuleSound       RuleCode = "sound"        // and has no fault
	RuleSnaps       RuleCode = "snaps"        // no snap joints in a rigid stock that is brittle
	RuleFlexible    RuleCode = "flexible"     // what has to bend is printed in what bends
	RuleStiff       RuleCode = "stiff"        // what turns on a rod is not printed in what bends
	RulePlate       RuleCode = "plate"        // it fits the design standard
	RulePosture     RuleCode = "posture"      // as it is meant to be laid
	RuleThin        RuleCode = "thin"         // no place is far under the material's limits
	RuleHole        RuleCode = "hole"         // what it takes passes its holes
	RuleFlat        RuleCode = "flat"         // it does not lie flat where layers are pulled off a film
	RuleTrapped     RuleCode = "trapped"      // what is not printed can leave every hollow
	RuleWell        RuleCode = "well"         // no hollow sucks at the film
)

// Rule is one rule's outcome. Answer is what it says where nobody has printed
// the mesh; Left, never worse, is what remains of it once a print of exactly this
// mesh came out well. A print settles whether a thin wall forms, and leaves
// nothing; it does not settle whether a snap joint lasts, and leaves all.
type Rule struct {
	Code         RuleCode
	Answer, Left Answer
	About, Also  string // what the sentence needs: a plate's name, a tilt, a blend
	Accepted     string // why the designer accepts what does not pass
	Target       string // what would change it: see Ground.Target
}

// Logged is the best that came of the prints of exactly this mesh in this
// material. The best counts, whenever it was: one good print shows that the mesh
// can be printed, and a failure before or after it shows how not to. So neither
// the order of the entries nor their dates can matter.
type Logged int

const (
	Unlogged Logged = iota
	LogFailed
	LogUsable
	LogGood
)

// Before is what became of a mesh of the same part that was once proven in this
// material.
type Before int

const (
	NeverProven    Before = iota
	OnlyMoved             // it had the same surface, in another place of the file or in other triangles
	BelowTolerance        // it differed by less than the printing tolerance
	ChangedSince          // it had another shape
)

// Decide is the standing of one part in one material.
//
//   - Without a print of exactly this mesh: the worst that a rule says, and "needs
//     reprint" where an earlier shape was proven, unless that is better.
//   - With one, what the rules leave, or what the print is ground for if that is
//     worse: proven, with care for a usable one, not suited where all failed.
//     What was proven before is of no account then.
//
// A rule that passes in place of one that does not never lowers it; neither does
// a better outcome in place of a worse, nor a good print where there was none.
// An earlier mesh never raises it, however good.
func Decide(rules []Rule, log Logged, before Before) Standing {
	bare, left := Passes, Passes
	for _, r := range rules {
		bare, left = max(bare, r.Answer), max(left, r.Left)
	}
	if bare == Missing {
		return NotOffered // no print can be of a mesh that is not there
	}
	stays := Proven
	if left > Passes {
		stays = left.unprinted()
	}
	switch log {
	case LogGood:
		return stays
	case LogUsable:
		return worst(WithCare, stays)
	case LogFailed:
		return worst(NotSuited, stays)
	}
	if before == ChangedSince {
		return worst(NeedsReprint, bare.unprinted())
	}
	return bare.unprinted()
}
