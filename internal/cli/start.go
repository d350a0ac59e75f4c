package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"cardback/internal/fields"
	"cardback/internal/infile"
	"cardback/internal/release"
	"cardback/internal/words"
)

type startOptions struct {
	content, title string
	number         int
	asJSON         bool
}

func startCommand() *cobra.Command {
	var o startOptions
	cmd := &cobra.Command{
		Use:   "start SLUG",
		Short: "Make the folder of a new release, with commented files",
		Long: `Start makes the folder of a new release: its notes, and a part with a mesh. Both
are placeholders and say so; the comments in the files tell what may be written
there. The release is a draft until its notes say a day: "cardback build --drafts"
shows it as it is, and nothing is published while a placeholder stands.

SLUG is the release's name in addresses and on disk: a to z, 0 to 9 and hyphens.
Where the content folder is not there yet, it is made too, with the site's file, the
bench and a page. Nothing that is there is ever changed.`,
		Example: `  cardback start lamplighter
  cardback start tide-clerk --number 12 --title "The Tide Clerk"`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usageError{fmt.Errorf("start takes the new release's slug, as in start lamplighter; found %s", words.Count(len(args), "word", "words"))}
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("number") && (o.number < 1 || o.number > mostNumber) {
				return usageError{fmt.Errorf("--number is %d; expected 1 to %d", o.number, mostNumber)}
			}
			return o.run(args[0], cmd.OutOrStdout())
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.IntVar(&o.number, "number", 0, "the release's number (default the highest there is and one)")
	f.StringVar(&o.title, "title", "", "its title (default made from the slug)")
	f.StringVar(&o.content, "content", "content", "the folder with site.yaml, bench and releases; made where it is not there")
	f.BoolVar(&o.asJSON, "json", false, "print a JSON object")
	return cmd
}

// startedRelease is the --json object.
type startedRelease struct {
	Number int      `json:"number"`
	Slug   string   `json:"slug"`
	Folder string   `json:"folder"`
	Files  []string `json:"files"` // written, with forward slashes
}

// mostNumber is the highest number that a folder's name may have.
const mostNumber = 999_999

func (o *startOptions) run(slug string, stdout io.Writer) error {
	if o.content == "" {
		return usageError{errors.New("--content is empty; name a folder")}
	}
	if err := checkSlug(slug); err != nil {
		return usageError{err}
	}
	title := strings.Join(strings.Fields(o.title), " ")
	if title == "" {
		title = titleOf(slug)
	}
	written, err := fields.Scalar(title)
	if err != nil {
		return usageError{fmt.Errorf("--title %q cannot be written: %w", o.title, err)}
	}
	fresh, err := isFresh(o.content)
	if err != nil {
		return err
	}
	if !fresh {
		if err := staysInside(o.content, "releases"); err != nil {
			return usageError{err}
		}
	}
	number := o.number
	if fresh {
		number = max(number, 1)
	} else if number, err = freeNumber(o.content, slug, number); err != nil {
		return usageError{err}
	}
	folder := release.FolderName(number, slug)
	block, err := placeholderMesh()
	if err != nil {
		return err
	}
	files := []startFile{
		{"release.md", fmt.Sprintf(startNotes, number, written)},
		{"parts/block/part.yaml", startPart},
		{"parts/block/any.stl", string(block)},
	}
	target, inside := filepath.Join(o.content, "releases", folder), ""
	if fresh {
		target, inside = o.content, path.Join("releases", folder)
		for i := range files {
			files[i].name = path.Join(inside, files[i].name)
		}
		files = append([]startFile{
			{"site.yaml", startSite}, {"bench/plates.yaml", startPlates}, {"bench/materials.yaml", startMaterials},
			{"bench/hardware.yaml", startHardware}, {"pages/about.md", startAbout},
		}, files...)
	}
	if err := placeFolder(target, files); err != nil {
		return err
	}
	if o.asJSON {
		made := startedRelease{Number: number, Slug: slug, Folder: path.Join(filepath.ToSlash(o.content), "releases", folder)}
		for _, f := range files {
			made.Files = append(made.Files, path.Join(filepath.ToSlash(target), f.name))
		}
		return writeJSON(stdout, made)
	}
	for _, f := range files {
		fmt.Fprintln(stdout, path.Join(filepath.ToSlash(target), f.name))
	}
	build := "cardback build --drafts"
	if o.content != "content" {
		build += " --content " + o.content
	}
	fmt.Fprintf(stdout, "The block and the texts are placeholders: put your own in their place. %q shows the draft.\n", build)
	return nil
}

// checkSlug refuses what cannot be a slug, with one that could.
func checkSlug(slug string) error {
	if n, rest, ok := release.SplitFolderName(slug); ok {
		return fmt.Errorf("slug %q begins with a number; give it apart, as in start %s --number %d", slug, rest, n)
	}
	if release.IsSlug(slug) {
		return nil
	}
	if len(slug) > release.MaxSlug {
		return fmt.Errorf("slug %.60q… has %d characters; expected at most %d", slug, len(slug), release.MaxSlug)
	}
	near := strings.Join(strings.FieldsFunc(strings.ToLower(slug), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	}), "-")
	if near == "" || len(near) > 60 {
		near = "lamplighter"
		return fmt.Errorf("slug %.60q has other characters than a to z, 0 to 9 and single hyphens between them; expected one such as %s", slug, near)
	}
	return fmt.Errorf("slug %.60q has other characters than a to z, 0 to 9 and single hyphens between them; did you mean %q?", slug, near)
}

// titleOf makes "Tide Clerk" of "tide-clerk".
func titleOf(slug string) string {
	names := strings.Split(slug, "-")
	for i, w := range names {
		names[i] = words.Capital(w)
	}
	return strings.Join(names, " ")
}

// isFresh reports whether the content folder is still to be made: it is not
// there, or empty. A folder of something else is an error.
func isFresh(content string) (bool, error) {
	entries, err := infile.ReadDir(content)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil {
		return false, fmt.Errorf("--content %s cannot be read: %w", content, infile.Cause(err))
	}
	if len(entries) == 0 {
		return true, nil
	}
	if _, err := os.Stat(filepath.Join(content, "site.yaml")); err != nil {
		return false, usageError{fmt.Errorf("--content %q holds files but no site.yaml; name a content folder, or one that is empty or not there yet", content)}
	}
	return false, nil
}

// staysInside refuses a folder of the content that is a link out of it, as reading the
// content does: what is written there would be no content.
func staysInside(content, name string) error {
	at := filepath.Join(content, name)
	if _, err := os.Lstat(at); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	shown := path.Join(filepath.ToSlash(content), name)
	if _, err := os.Stat(at); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is a link that leads nowhere; expected a folder", shown)
	}
	root, err := resolve(content)
	if err != nil {
		return err
	}
	folder, err := resolve(at)
	if err != nil {
		return err
	}
	if !holds(root, folder) {
		return fmt.Errorf("%s is a link that leads out of the content folder; expected a folder in it", shown)
	}
	return nil
}

// freeNumber checks a wished number against the folders there are, or picks the
// next one where the wish is 0.
func freeNumber(content, slug string, wish int) (int, error) {
	entries, err := infile.ReadDir(filepath.Join(content, "releases"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("%s cannot be read: %w", filepath.Join(content, "releases"), infile.Cause(err))
	}
	highest := 0
	for _, e := range entries {
		n, s, ok := release.SplitFolderName(e.Name())
		if !ok {
			continue
		}
		highest = max(highest, n)
		switch {
		case s == slug:
			return 0, fmt.Errorf("there is a release %q already, %s; choose another slug", slug, path.Join(filepath.ToSlash(content), "releases", e.Name()))
		case n == wish:
			return 0, fmt.Errorf("number %d is already that of %q; choose another", wish, e.Name())
		}
	}
	if wish == 0 {
		wish = highest + 1
	}
	if wish > mostNumber {
		return 0, fmt.Errorf("there is no number after %d; give one with --number", highest)
	}
	return wish, nil
}

// startFile is a file to write, its name relative to the folder, with slashes.
type startFile struct{ name, text string }

// placeFolder makes the folder target with its files: all of them, or none. Where
// it is there already it is empty, and stays the folder that it is.
func placeFolder(target string, files []startFile) error {
	failed := func(err error) error { return fmt.Errorf("%s cannot be made: %w", target, infile.Cause(err)) }
	_, err := os.Stat(target)
	there := err == nil
	beside := filepath.Dir(filepath.Clean(target))
	if there {
		beside = target
	}
	if err := os.MkdirAll(beside, 0o755); err != nil {
		return failed(err)
	}
	tmp, err := os.MkdirTemp(beside, ".start-*") // a hidden name is no content
	if err != nil {
		return failed(err)
	}
	defer os.RemoveAll(tmp) // nothing is left of it after the rename
	if err := os.Chmod(tmp, 0o755); err != nil {
		return failed(err)
	}
	for _, f := range files {
		at := filepath.Join(tmp, filepath.FromSlash(f.name))
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			return failed(err)
		}
		if err := os.WriteFile(at, []byte(f.text), 0o644); err != nil {
			return failed(err)
		}
	}
	if !there {
		if err := os.Rename(tmp, target); err != nil { // a folder that came meanwhile is not empty and stays
			return failed(err)
		}
		return nil
	}
	entries, err := infile.ReadDir(tmp)
	if err != nil {
		return failed(err)
	}
	for _, e := range entries {
		if err := os.Rename(filepath.Join(tmp, e.Name()), filepath.Join(target, e.Name())); err != nil {
			return failed(err)
		}
	}
	return nil
}
