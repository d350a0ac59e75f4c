package measure

// sum adds up numbers with the roundings carried along (Neumaier,
// Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen, 1974):
// the error does not grow with the count, to first order in the unit roundoff.
type sum struct{ total, lost float64 }

func (s *sum) add(x float64) {
	t := s.total + x
	if s.total >= x && s.total >= -x || s.total <= x && s.total <= -x {
		s.lost += (s.total - t) + x // |total| ≥ |x|
	} else {
		s.lost += (x - t) + s.total
	}
	s.total = t
}

// join adds another sum.
func (s *sum) join(o sum) {
	s.add(o.total)
	s.add(o.lost)
}

func (s *sum) value() float64 { return s.total + s.lost }
