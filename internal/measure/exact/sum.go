package exact

// Sum adds up numbers with the roundings carried along (Neumaier,
// Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen, 1974):
// the error does not grow with the count, to first order in the unit roundoff.
type Sum struct{ total, lost float64 }

// Add adds x.
func (s *Sum) Add(x float64) {
	t := s.total + x
	if s.total >= x && s.total >= -x || s.total <= x && s.total <= -x {
		s.lost += (s.total - t) + x // |total| ≥ |x|
	} else {
		s.lost += (x - t) + s.total
	}
	s.total = t
}

// Join adds another sum.
func (s *Sum) Join(o Sum) {
	s.Add(o.total)
	s.Add(o.lost)
}

// Value is the sum so far.
func (s *Sum) Value() float64 { return s.total + s.lost }
