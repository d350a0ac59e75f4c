package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/fit"
	"cardback/internal/infile"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// benchTables are those that a bench has, by their files' names.
var benchTables = []string{"plates", "materials", "hardware", "processes"}

func benchCommand() *cobra.Command {
	var (
		content string
		asJSON  bool
	)
	cmd := &cobra.Command{
		Use:   "bench [plates|materials|hardware|processes]",
		Short: "List the plates, materials, hardware and processes that the notes may name",
		Long: `Bench lists what the notes and other commands may name: the ids of plates,
materials, hardware and ways of printing, with their figures. It reads the tables in
the content folder; a table that is not there is the one that comes with the program,
and so are all where there is no content folder.

Name tables to see those alone. Lengths are millimetres. The design standard of a
process, which every release is meant to fit, is marked with a star.

A table bench/processes.yaml adds ways of printing to those that come with the program:
"cardback help processes" says how. "cardback help bench-files" has the other tables.`,
		Example: `  cardback bench
  cardback bench materials
  cardback bench plates --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			for _, a := range args {
				if !slices.Contains(benchTables, a) {
					return usageError{fmt.Errorf("there is no table %q on a bench; %s", a, fields.Suggest(a, benchTables))}
				}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			b, _, problems, err := benchOf(content, cmd.Flags().Changed("content"))
			if err != nil {
				return usageError{err}
			}
			if len(args) == 0 {
				args = benchTables
			}
			out := cmd.OutOrStdout()
			if asJSON {
				err = writeBenchJSON(out, b, args)
			} else {
				writeBench(out, b, args)
			}
			if problems != nil {
				return printProblems(cmd.ErrOrStderr(), problems, "what could be read is listed")
			}
			return err
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&content, "content", "content", "content folder `DIR` with the bench")
	f.BoolVar(&asJSON, "json", false, "print a JSON object")
	return cmd
}

// benchOf is the bench of a content folder, what to call it, and the problems of its
// tables. A folder that nobody asked for need not be there: the bench is then the
// shipped one.
func benchOf(content string, asked bool) (b bench.Bench, name string, problems, err error) {
	root, err := infile.OpenRoot(content)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !asked:
		return bench.Shipped(), "the bench that comes with the program", nil, nil
	case errors.Is(err, os.ErrNotExist):
		return b, "", nil, fmt.Errorf("--content %q is not there; name the folder that has the bench", content)
	case err != nil:
		return b, "", nil, fmt.Errorf("--content %q cannot be read as a folder: %w", content, infile.Cause(err))
	}
	defer root.Close()
	b, problems = bench.Load(infile.FS(root), content)
	return b, fmt.Sprintf("the bench of %q", content), problems, nil
}

// namedPlate is the bench's plate that has the name, which then keeps its own margin
// and shape: asked says which flags were given. ok is false where none has.
func namedPlate(b bench.Bench, name string, asked func(flag string) bool) (p bench.Plate, ok bool, err error) {
	for _, p := range b.Plates {
		if p.ID != name {
			continue
		}
		for _, f := range []string{"margin", "round"} {
			if asked(f) {
				return p, true, fmt.Errorf("--%s is the bench's for %s; leave it out, or give the plate's size", f, p.ID)
			}
		}
		return p, true, nil
	}
	return p, false, nil
}

// describedPlate is a plate given by its size and flags, where the bench has none of
// that name.
func describedPlate(b bench.Bench, name, text string, margin length, round bool) (fit.Plate, error) {
	size, err := fit.ParsePlate(text)
	if err != nil {
		if looksLikeSize(text) {
			return size, err
		}
		var known []string
		for _, p := range b.Plates {
			known = append(known, p.ID)
		}
		return size, fmt.Errorf("%q is neither a plate of %s nor a size, such as 68x120x155; %s", text, name, fields.Suggest(text, known))
	}
	size.Margin, size.Round = float64(margin), round
	return size, checkPlate(size)
}

// looksLikeSize tells a size with a slip in it from a name: it begins with a digit,
// as no name of a shipped plate does.
func looksLikeSize(s string) bool {
	return s != "" && (s[0] >= '0' && s[0] <= '9' || s[0] == '-' || s[0] == '.')
}

func writeBench(w io.Writer, b bench.Bench, tables []string) {
	table := func(i int, name string, rows [][]string) {
		if i > 0 {
			fmt.Fprintln(w)
		}
		if len(rows) == 1 {
			fmt.Fprintf(w, "%s: none\n", name)
			return
		}
		grid(w, rows)
	}
	for i, name := range tables {
		switch name {
		case "plates":
			rows := [][]string{{"plates", "process", "width × depth × height", "margin"}}
			for _, p := range b.Plates {
				id := p.ID
				if p.Standard {
					id += " *"
				}
				rows = append(rows, []string{id, p.Process.ID, survey.FitPlate(p).Size(), words.Plain(p.Margin)})
			}
			table(i, name, rows)
		case "materials":
			rows := [][]string{{"materials", "process", "stiffness", "wall", "pin", "hole allowance"}}
			for _, m := range b.Materials {
				rows = append(rows, []string{m.ID, m.Process.ID, string(m.Stiffness), words.Plain(m.WallMin), words.Plain(m.PinMin), words.Plain(m.HoleAllowance)})
			}
			table(i, name, rows)
		case "processes":
			rows := [][]string{{"processes", "stock by", "layer", "at most"}}
			for _, p := range b.Processes() {
				rows = append(rows, []string{p.ID, string(p.Measured), words.Plain(p.Layer), words.Plain(p.LayerMost)})
			}
			table(i, name, rows)
		case "hardware":
			rows := [][]string{{"hardware", "kind", "diameter", "sold in lengths of"}}
			for _, h := range b.Hardware {
				rows = append(rows, []string{h.ID, string(h.Kind), orDash(h.Diameter), orDash(max(h.StockLength, h.Length))})
			}
			table(i, name, rows)
		}
	}
}

// orDash is a length, or a dash where there is none.
func orDash(mm float64) string {
	if mm == 0 {
		return "–"
	}
	return words.Plain(mm)
}

// Of the bench, as other programs read it.
type (
	benchJSON struct {
		Plates    []plateJSON    `json:"plates,omitempty"`
		Materials []materialJSON `json:"materials,omitempty"`
		Hardware  []hardwareJSON `json:"hardware,omitempty"`
		Processes []processJSON  `json:"processes,omitempty"`
	}
	plateJSON struct {
		ID       string  `json:"id"`
		Name     string  `json:"name"`
		Process  string  `json:"process"`
		Width    float64 `json:"width_mm"`
		Depth    float64 `json:"depth_mm"`
		Height   float64 `json:"height_mm"`
		Margin   float64 `json:"margin_mm"`
		Round    bool    `json:"round"`
		Standard bool    `json:"standard"`
	}
	materialJSON struct {
		ID            string  `json:"id"`
		Name          string  `json:"name"`
		Process       string  `json:"process"`
		Stiffness     string  `json:"stiffness"`
		Density       float64 `json:"density_g_cm3"`
		WallMin       float64 `json:"wall_min_mm"`
		PinMin        float64 `json:"pin_min_mm"`
		HoleAllowance float64 `json:"hole_allowance_mm"`
		Source        string  `json:"source"`
	}
	processJSON struct {
		ID        string  `json:"id"`
		Name      string  `json:"name"`
		Measured  string  `json:"measured"`
		Layer     float64 `json:"layer_mm"`
		LayerMost float64 `json:"layer_most_mm"`
	}
	hardwareJSON struct {
		ID          string  `json:"id"`
		Name        string  `json:"name"`
		Kind        string  `json:"kind"`
		Diameter    float64 `json:"diameter_mm,omitempty"`
		Thickness   float64 `json:"thickness_mm,omitempty"`
		Bore        float64 `json:"bore_mm,omitempty"`
		Length      float64 `json:"length_mm,omitempty"`
		StockLength float64 `json:"stock_length_mm,omitempty"`
	}
)

func writeBenchJSON(w io.Writer, b bench.Bench, tables []string) error {
	var out benchJSON
	for _, name := range tables {
		switch name {
		case "plates":
			for _, p := range b.Plates {
				out.Plates = append(out.Plates, plateJSON{p.ID, p.Name, p.Process.ID, p.Width, p.Depth, p.Height, p.Margin, p.Round, p.Standard})
			}
		case "materials":
			for _, m := range b.Materials {
				out.Materials = append(out.Materials, materialJSON{m.ID, m.Name, m.Process.ID, string(m.Stiffness), m.Density, m.WallMin, m.PinMin, m.HoleAllowance, m.Source})
			}
		case "processes":
			for _, p := range b.Processes() {
				out.Processes = append(out.Processes, processJSON{p.ID, p.Name, string(p.Measured), p.Layer, p.LayerMost})
			}
		case "hardware":
			for _, h := range b.Hardware {
				out.Hardware = append(out.Hardware, hardwareJSON{h.ID, h.Name, string(h.Kind), h.Diameter, h.Thickness, h.Bore, h.Length, h.StockLength})
			}
		}
	}
	return writeJSON(w, out)
}

// writeJSON prints one indented JSON value.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
