package frontier

import "strings"

const digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"

// squeezer writes decisions, yes or no, as base-64 text, in less than a bit each
// where they are as expected: an arithmetic coder whose guess of each decision is
// learnt from those before it in the same context (J. Rissanen and G. G. Langdon,
// 1979; the form with two whole numbers from memory). My-plate's script has its
// other half, unsqueezer, in numbers that a browser computes exactly.
//
// The text is a number between 0 and 1 in base 64, known to lie between low and
// high, of which five digits are kept; what both have in common is written.
type squeezer struct {
	low, high uint64
	guesses   guesses
	out       strings.Builder
}

const squeezeDigits = 5

const (
	squeezeWhole = 1 << (6 * squeezeDigits) // one more than low and high can be
	squeezeTop   = squeezeWhole >> 6
)

// guesses has for each context how likely a yes is, in 65536ths, and how many
// decisions that was learnt from, up to learnt.
type guesses [contexts]guess

type guess struct{ likely, seen uint64 }

const learnt = 60

// learn moves the guess towards what was decided, by less the more it has seen.
// It stays off 0 and 65536, as the steps are rounded towards 0.
func (g *guess) learn(yes bool) {
	if yes {
		g.likely += (1<<16 - 1 - g.likely) * 2 / (2*g.seen + 3)
	} else {
		g.likely -= (g.likely - 1) * 2 / (2*g.seen + 3)
	}
	g.seen = min(g.seen+1, learnt)
}

// part is where yes ends and no begins between low and high.
func (g *guess) part(low, high uint64) uint64 { return low + (high-low)*g.likely>>16 }

func newSqueezer() *squeezer {
	s := &squeezer{high: squeezeWhole - 1}
	for i := range s.guesses {
		s.guesses[i].likely = 1 << 15
	}
	return s
}

func (s *squeezer) code(context int, yes bool) bool {
	g := &s.guesses[context]
	at := g.part(s.low, s.high)
	if yes {
		s.high = at
	} else {
		s.low = at + 1
	}
	g.learn(yes)
	for s.low/squeezeTop == s.high/squeezeTop {
		s.out.WriteByte(digits[s.low/squeezeTop])
		s.low, s.high = s.low%squeezeTop*64, s.high%squeezeTop*64+63
	}
	return yes
}

// text ends the number: what follows is read as zeros, so a digit above low's
// first is enough, and none where low is 0.
func (s *squeezer) text() string {
	if s.low > 0 {
		s.out.WriteByte(digits[s.low/squeezeTop+1])
	}
	return s.out.String()
}

type unsqueezer struct {
	*squeezer
	at   uint64 // the number, as far as low and high go
	rest string
	past int // digits read past the end
}

func newUnsqueezer(text string) *unsqueezer {
	u := &unsqueezer{squeezer: newSqueezer(), rest: text}
	for range squeezeDigits {
		u.at = u.at*64 + u.digit()
	}
	return u
}

func (u *unsqueezer) digit() uint64 {
	if u.rest == "" {
		u.past++
		return 0
	}
	d := strings.IndexByte(digits, u.rest[0])
	u.rest = u.rest[1:]
	return uint64(max(d, 0))
}

func (u *unsqueezer) code(context int, _ bool) bool {
	g := &u.guesses[context]
	at := g.part(u.low, u.high)
	yes := u.at <= at
	if yes {
		u.high = at
	} else {
		u.low = at + 1
	}
	g.learn(yes)
	for u.low/squeezeTop == u.high/squeezeTop {
		u.at = u.at%squeezeTop*64 + u.digit()
		u.low, u.high = u.low%squeezeTop*64, u.high%squeezeTop*64+63
	}
	return yes
}
