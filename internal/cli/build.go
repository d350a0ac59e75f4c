package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/outdir"
	"cardback/internal/release"
	"cardback/internal/site"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

type buildOptions struct {
	content, out, cache, address string
	backlog, drafts, withFaults  bool
	asJSON                       bool
}

func buildCommand() *cobra.Command {
	var o buildOptions
	cmd := &cobra.Command{
		Use:   "build",
		Short: "Measure what has changed and write the release site",
		Long: `Build reads the content folder, measures every mesh that it has not measured
before, and writes the whole site. The new site takes the old one's place in one
step, or not at all. What else stands in the folder is never removed: files that
build did not write stop it, unless site.yaml names them under keep.

Notes that cannot be understood stop the build; every problem is listed with its
file, line and column. So does a fault in what would be published: a crack, a mesh
that cannot be read, a placeholder that still stands. Nothing is written then, and
what is on the web stays as it is; --with-faults publishes all the same, and the
pages say so. A release under a licence that does not allow it is never published.
The build ends with the count of what was found and the worst of it; "cardback
proof" lists all.

A release whose day is "not yet", or later than today (SOURCE_DATE_EPOCH stands for
today where it is set), is a draft. Drafts are left out; with --drafts they are
built too and marked, and their faults are told but hold nothing back.

The exit code is 0 where the site was written, and 1 where it was not.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, args []string) error {
			return build(cmd.Context(), o, time.Now(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.SetFlagErrorFunc(func(_ *cobra.Command, err error) error {
		if strings.Contains(err.Error(), "--base-url") {
			err = errors.New("the flag --base-url is called --address; give the address with that")
		}
		return usageError{err}
	})
	f := cmd.Flags()
	f.StringVar(&o.content, "content", "content", "the folder with site.yaml, bench, releases and pages")
	f.StringVar(&o.out, "out", filepath.Join("build", "site"), "the folder to write; its old content is replaced")
	f.StringVar(&o.cache, "cache", filepath.Join("build", "cache"), "the folder that keeps measurements; safe to delete")
	f.StringVar(&o.address, "address", "", "the site's full address, in place of address in site.yaml")
	f.BoolVar(&o.drafts, "drafts", false, "build the drafts too, marked as such")
	f.BoolVar(&o.withFaults, "with-faults", false, "publish although a fault stands")
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object of what was written")
	f.BoolVar(&o.backlog, "backlog", false, "write the designer's own page of what is left to do as well; not for publishing")
	return cmd
}

func build(ctx context.Context, o buildOptions, start time.Time, stdout, stderr io.Writer) error {
	day, err := today(start)
	if err != nil {
		return usageError{err}
	}
	out, err := checkFolders(o)
	if err != nil {
		return usageError{err}
	}
	var address string
	if o.address != "" {
		if address, err = parseAddress(o.address); err != nil {
			return usageError{err}
		}
	}
	s, err := loaded(o.content, o.cache)
	if err != nil {
		return printProblems(stderr, err, "nothing was written")
	}
	if address != "" {
		s.Address = address
	}
	if err := outdir.Check(out, s.Keep); err != nil {
		return foreignOut(o.out, err)
	}
	s, drafts := toBuild(s, day, o.drafts)
	if len(s.Releases) == 0 {
		fmt.Fprintf(stderr, "there is nothing to publish: %s; --drafts builds drafts too, for you to look at\n", draftNames(drafts))
		return errInput
	}
	cuts := s.Cuts()
	c, st, err := checked(ctx, s, o.cache, stderr)
	if err != nil {
		return err
	}
	g := newGate(o.content, s, c.Findings)
	if err := g.check(o.withFaults, stderr); err != nil {
		return err
	}
	laid, err := layPlates(ctx, s, c.Survey, st, stderr)
	if err != nil {
		return err
	}
	j, err := judged(ctx, c, st, laid)
	if err != nil {
		return err
	}
	written, err := outdir.Replace(out, s.Keep, func(dir string) error {
		return site.Build(ctx, site.Input{Judged: j, Store: st, ShowBacklog: o.backlog}, dir)
	})
	for _, left := range written.Left {
		fmt.Fprintf(stderr, "%s holds files that are not of the site; they came into --out while a build was at work, and are left to you\n", left)
	}
	if err != nil {
		return foreignOut(o.out, err)
	}
	if o.asJSON {
		return writeJSON(stdout, g.built(o.out, s, len(cuts), written, drafts))
	}
	fmt.Fprintf(stdout, "%s: %s, %s, %s, %s, in %s s\n", o.out,
		words.Count(len(s.Releases), "release", "releases"), words.Count(len(cuts), "mesh file", "mesh files"), words.Count(written.Files, "file", "files"),
		words.Bytes(written.Bytes), words.Fixed(time.Since(start).Seconds(), 1))

	g.sum(stdout)
	if len(drafts) > 0 {
		fmt.Fprintf(stdout, "left out: %s, %s; --drafts builds them too\n", words.Count(len(drafts), "draft", "drafts"), draftNames(drafts))
	}
	return nil
}

// builtSite is the --json object.
type builtSite struct {
	Out      string   `json:"out"`
	Releases []int    `json:"releases"` // their numbers
	LeftOut  []string `json:"drafts_left_out"`
	Meshes   int      `json:"mesh_files"`
	Files    int      `json:"files"`
	Bytes    int64    `json:"bytes"`
	findingTally
}

func (g gate) built(out string, s *release.Site, meshes int, w outdir.Written, drafts []release.Release) builtSite {
	b := builtSite{Out: filepath.ToSlash(out), Releases: []int{}, LeftOut: []string{}, Meshes: meshes, Files: w.Files, Bytes: w.Bytes}
	for _, r := range s.Releases {
		b.Releases = append(b.Releases, r.Number)
	}
	for _, r := range drafts {
		b.LeftOut = append(b.LeftOut, r.Slug)
	}
	for _, f := range g.findings {
		b.count(f.Level)
	}
	return b
}

// layPlates lays every release on the design standard of each process that it
// has a cut for. How plates are laid is kept in the store too.
func layPlates(ctx context.Context, s *release.Site, found survey.Survey, st *store.Store, stderr io.Writer) (map[int][]*plates.Set, error) {
	var standards []bench.Plate
	for _, proc := range s.Bench.Processes() {
		for _, p := range s.Bench.Plates {
			if p.Standard && p.Process == proc {
				standards = append(standards, p)
			}
		}
	}
	on := newStatus(stderr)
	defer on.done()
	laid := on.counted("laying plates", len(s.Releases)*len(standards))
	out := map[int][]*plates.Set{}
	for _, r := range s.Releases {
		for _, plate := range standards {
			set, err := plates.Lay(ctx, r, plate, found, st, plates.Usual)
			if err != nil {
				return nil, fmt.Errorf("lay %s on %s: %w", r.Title, plate.Name, err)
			}
			out[r.Number] = append(out[r.Number], set)
			laid(r.Title)
		}
	}
	return out, nil
}

// checkFolders refuses to replace a folder that holds the content or the cache, or
// this folder. Neither may the site or the cache stand in the content folder, which is
// read as notes. Links are followed; the result is the folder to write.
func checkFolders(o buildOptions) (out string, err error) {
	for _, f := range []struct{ flag, path string }{{"content", o.content}, {"out", o.out}, {"cache", o.cache}} {
		if f.path == "" {
			return "", fmt.Errorf("--%s is empty; name a folder", f.flag)
		}
	}
	if out, err = resolve(o.out); err != nil {
		return "", err
	}
	content, err := resolve(o.content)
	if err != nil {
		return "", err
	}
	cache, err := resolve(o.cache)
	if err != nil {
		return "", err
	}
	here, err := resolve(".")
	if err != nil {
		return "", err
	}
	for _, other := range []string{content, cache, here} {
		if holds(out, other) {
			return "", fmt.Errorf("--out %q would replace %s; name a folder of its own", o.out, other)
		}
	}
	if holds(content, out) {
		return "", fmt.Errorf("--out %q is inside the content folder, %s; name a folder outside it", o.out, content)
	}
	if holds(content, cache) {
		return "", fmt.Errorf("--cache %q is inside the content folder, %s; name a folder outside it", o.cache, content)
	}
	return out, nil
}

// foreignOut says what to do about files in --out that build did not write; other
// errors are as they were.
func foreignOut(out string, err error) error {
	var foreign *outdir.Foreign
	if !errors.As(err, &foreign) {
		return err
	}
	hint := "move them away, or name those that your server needs under keep: in site.yaml"
	if !foreign.Listed {
		hint = "empty it or name another folder; build replaces only a site that it wrote itself, with the list " + outdir.List
	}
	return fmt.Errorf("--out %q %w; nothing was written: %s", out, foreign, hint)
}

// resolve is the absolute path with the links of its existing part followed.
func resolve(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	rest := ""
	for at := abs; ; at = filepath.Dir(at) {
		if real, err := filepath.EvalSymlinks(at); err == nil {
			return filepath.Join(real, rest), nil
		}
		if at == filepath.Dir(at) {
			return abs, nil
		}
		rest = filepath.Join(filepath.Base(at), rest)
	}
}

// holds reports whether path is dir or lies below it; both are absolute.
func holds(dir, path string) bool {
	rel, err := filepath.Rel(dir, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// parseAddress checks the site's address and ends it in a slash.
func parseAddress(text string) (string, error) {
	u, err := url.Parse(text)
	if err != nil || (u.Scheme != "https" && u.Scheme != "http") || u.Host == "" || u.RawQuery != "" || u.Fragment != "" {
		return "", fmt.Errorf("--address %q is not a full address such as https://figures.example/range/", text)
	}
	return strings.TrimSuffix(u.String(), "/") + "/", nil
}

// printProblems prints every problem of the notes, each with its place, and what
// came of them.
func printProblems(stderr io.Writer, err error, then string) error {
	var problems fields.Errors
	if !errors.As(err, &problems) {
		return err
	}
	fmt.Fprintln(stderr, strings.TrimRight(problems.Excerpts(), "\n"))
	fmt.Fprintf(stderr, "%s; %s\n", words.Count(len(problems), "problem", "problems"), then)
	return errInput
}
