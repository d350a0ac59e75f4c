package bench

// Process is a way of printing. A process is a row of a table and is known by its
// pointer: one id is one row. The nil process is none, or any, as the field says.
type Process struct {
	ID string // as materials, plates, cuts and print settings name it
}

// String is the process's id.
func (p *Process) String() string {
	if p == nil {
		return ""
	}
	return p.ID
}

// MarshalText is how JSON names a process.
func (p *Process) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

var (
	Filament = &Process{ID: "filament"} // fused filament
	Resin    = &Process{ID: "resin"}    // vat photopolymerisation
)

// Processes lists them in the order pages show them.
var Processes = []*Process{Filament, Resin}

// ProcessOf finds a process by its id; there is none by the empty one.
func ProcessOf(id string) *Process {
	for _, p := range Processes {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// ProcessIDs lists the ids in the same order.
func ProcessIDs() []string {
	var ids []string
	for _, p := range Processes {
		ids = append(ids, p.ID)
	}
	return ids
}
