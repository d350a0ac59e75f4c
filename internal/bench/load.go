package bench

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"regexp"
	"slices"

	"cardback/internal/fields"
)

var idPattern = regexp.MustCompile(`^[a-z0-9]+(?:[.-][a-z0-9]+)*$`)

// Load reads processes.yaml, plates.yaml, materials.yaml and hardware.yaml from the
// folder "bench" of fsys. shown is the path of fsys that errors begin with. A table that
// is not there is the shipped one; one that says "defaults: true" adds to the
// shipped one and changes of it what it names; any other stands alone; processes are always added to the shipped ones. The error,
// where there is one, is a fields.Errors; the Bench then holds what was good.
func Load(fsys fs.FS, shown string) (Bench, error) {
	b, errs := load(fsys, shown, Shipped())
	return b, errs.Err()
}

func load(fsys fs.FS, shown string, shipped Bench) (Bench, fields.Errors) {
	l := loader{fsys: fsys, shown: shown}
	var b Bench
	b.Added = table(&l, "processes", nil, func(p *Process) string { return p.ID }, added, nil)
	b.Plates = table(&l, "plates", shipped.Plates, func(p Plate) string { return p.ID }, plates(b.Processes()).read, checkStandards)
	r := materials{processes: b.Processes(), blends: map[string][]placed{}}
	b.Materials = table(&l, "materials", shipped.Materials, func(t Material) string { return t.ID }, r.read, r.check)
	b.Currency = r.currency
	b.Hardware = table(&l, "hardware", shipped.Hardware, func(h Hardware) string { return h.ID }, hardware, nil)
	return b, l.errs
}

type loader struct {
	fsys  fs.FS
	shown string
	errs  fields.Errors
}

// entry is one line of a table: what it says and where.
type entry[T any] struct {
	value   T
	good    bool        // it may be used
	at      *fields.Map // nil for a shipped entry that the table does not name
	changes bool        // it is a shipped entry with some fields changed
}

// table reads one table. read fills in the fields that an entry names, on top of
// the shipped entry where it changes one; need then is Optional, else Required.
// check, where there is one, sees all entries before the file's errors are
// gathered.
func table[T any](l *loader, list string, shipped []T, idOf func(T) string, read func(id string, m *fields.Map, t T, need fields.Need) (T, bool), check func(*fields.Map, []entry[T])) []T {
	base := list + ".yaml"
	name := path.Join(l.shown, "bench", base)
	data, err := readAll(l.fsys, path.Join("bench", base))
	if errors.Is(err, errAbsent) {
		return slices.Clone(shipped)
	}
	if err != nil {
		l.errs = append(l.errs, fields.Error{File: name, Message: fmt.Sprintf("cannot be read (%s); expected a file with a list of %s", err, list)})
		return nil
	}
	doc := fields.Parse(name, data)
	top := doc.Map()
	var entries []entry[T]
	adds := top.Bool("defaults", fields.Optional)
	if adds {
		for _, t := range shipped {
			entries = append(entries, entry[T]{value: t, good: true})
		}
	}
	ids := map[string]int{}
	for _, m := range top.Tables(list, fields.Need(!adds)) {
		id := m.Text("id", fields.Required)
		line, _ := m.At("id")
		switch first, seen := ids[id]; {
		case id == "":
		case !idPattern.MatchString(id):
			m.Errorf("id", "id %q has other characters than a to z, 0 to 9, dot and hyphen; expected an id such as rod-1.5", id)
		case seen:
			m.Errorf("id", "id %q is used twice; the first is on line %d, give each entry its own", id, first)
		default:
			ids[id] = line
		}
		i := slices.IndexFunc(entries, func(e entry[T]) bool { return e.at == nil && idOf(e.value) == id })
		if i < 0 {
			var none T
			t, ok := read(id, m, none, fields.Required)
			entries = append(entries, entry[T]{value: t, good: ok, at: m})
			continue
		}
		t, ok := read(id, m, entries[i].value, fields.Optional)
		entries[i] = entry[T]{value: t, good: ok, at: m, changes: true}
	}
	if check != nil {
		check(top, entries)
	}
	l.errs = append(l.errs, doc.Finish()...)
	var out []T
	for _, e := range entries {
		if e.good {
			out = append(out, e.value)
		}
	}
	return out
}

// checkStandards holds a table to one design standard for a process. One that the
// designer names takes the place of a shipped one.
func checkStandards(_ *fields.Map, entries []entry[Plate]) {
	first := map[*Process]string{}
	for _, e := range entries {
		if e.at == nil || !e.value.Standard || !e.at.Has("standard") {
			continue
		}
		id, proc := e.value.ID, e.value.Process
		if was, seen := first[proc]; seen && (e.changes || e.at.OK("process")) {
			e.at.Errorf("standard", "plate %q is a second design standard for %s; %q already is, expected at most one for a process", id, proc, was)
		} else if !seen {
			first[proc] = id
		}
	}
	for i := range entries {
		e := &entries[i]
		if _, named := first[e.value.Process]; named && (e.at == nil || !e.at.Has("standard")) {
			e.value.Standard = false
		}
	}
}

// errAbsent is for a table that is not there, under no name near its own.
var errAbsent = errors.New("no such file")

// readAll reads a regular file of a size that a table can have.
func readAll(fsys fs.FS, name string) ([]byte, error) {
	st, err := fs.Stat(fsys, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, orNear(fsys, name, errAbsent)
	}
	if err != nil {
		return nil, plain(err)
	}
	if !st.Mode().IsRegular() {
		return nil, errors.New("not a regular file")
	}
	f, err := fsys.Open(name)
	if err != nil {
		return nil, plain(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, fields.MaxYAML+1))
	return data, plain(err)
}

// orNear adds to "no such file" the name beside it that may have been meant.
func orNear(fsys fs.FS, name string, err error) error {
	entries, _ := fs.ReadDir(fsys, path.Dir(name)) // without the folder there is no name to offer
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	base := path.Base(name)
	near, ok := fields.Nearest(base, names)
	if !ok || near == base {
		return err
	}
	return fmt.Errorf("%s, but there is %q", err, near)
}

// plain drops the operation and path from a file error: the message names the
// file already, the way the designer wrote it.
func plain(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	if errors.Is(err, fs.ErrNotExist) {
		return errAbsent
	}
	return err
}
