package sound

import "sync"

// Looking at pairs is bounded, so that a heap of large triangles whose boxes all
// meet each other ends too: at mostLooks pairs whose boxes meet, and looksEach
// more for every triangle. A clean surface has about 10 for each, a body given
// twice some 30. One of the thousand tasks and more may use up an eachTask-th
// part of it.
const (
	mostLooks = 1 << 24
	looksEach = 48
	eachTask  = 16
)

// ration hands out a bounded number of looks to tasks that run side by side, in
// such a way that what counts does not depend on which of them run when: what
// counts are the tasks up to the first at which their looks together reach the
// bound. Each of these is carried out whole, for a task is left out only when
// tasks before it have ended and have reached the bound.
type ration struct {
	most int

	lock  sync.Mutex
	looks []int // by task, of those that ended; −1 before
	// front tasks, from the first on, have ended and took total looks.
	front, total int
}

func (r *ration) begin(tasks int) {
	r.looks = make([]int, tasks)
	for i := range r.looks {
		r.looks[i] = -1
	}
}

// looks counts those of one task.
type looks struct {
	of                *ration
	task, taken, most int
}

// of begins a task.
func (r *ration) of(task int) looks {
	r.lock.Lock()
	defer r.lock.Unlock()
	l := looks{of: r, task: task, most: r.most / eachTask}
	if r.total >= r.most {
		l.most = 0
	}
	return l
}

// more takes a look, and says whether there was one left.
func (l *looks) more() bool {
	l.taken++
	return l.taken <= l.most
}

// end closes a task.
func (l *looks) end() {
	r := l.of
	r.lock.Lock()
	defer r.lock.Unlock()
	r.looks[l.task] = min(l.taken, l.most)
	for r.front < len(r.looks) && r.looks[r.front] >= 0 && r.total < r.most {
		r.total += r.looks[r.front]
		r.front++
	}
}

// spent says how many tasks count, once all have ended, and whether anything may
// have been left out: a task that used up its part is taken for one that was cut.
func (r *ration) spent() (tasks int, partial bool) {
	partial = r.front < len(r.looks)
	for _, n := range r.looks[:r.front] {
		partial = partial || n == r.most/eachTask
	}
	return r.front, partial
}
