// Package sets answers which of numbered things belong together, when all that is told
// is which two do. Its type is Sets. It is not for several goroutines at once.
//
// Source: R. E. Tarjan and J. van Leeuwen, Worst-case analysis of set union algorithms,
// Journal of the ACM 31 (1984): path halving.
package sets

// Sets are disjoint sets of the numbers from 0 on. The least member stands for its set.
// An entry leads, by one or more steps, to the member that stands for the set.
type Sets []int32

// New puts each of n by itself.
func New(n int) Sets { return Sets(nil).Alone(n) }

// Alone puts each of n by itself, in the memory of s where there is enough.
func (s Sets) Alone(n int) Sets {
	s = s[:0]
	for range n {
		s.Add()
	}
	return s
}

// Add puts one more by itself and returns its number.
func (s *Sets) Add() int32 {
	n := int32(len(*s))
	*s = append(*s, n)
	return n
}

// Of is the member that stands for i's set.
func (s Sets) Of(i int32) int32 {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

// Join makes one set of a's and b's, and reports whether they were two.
func (s Sets) Join(a, b int32) bool {
	a, b = s.Of(a), s.Of(b)
	s[max(a, b)] = min(a, b)
	return a != b
}
