package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"cardback/internal/survey/history"

	"github.com/spf13/pflag"

	"cardback/internal/infile"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/verdict"
)

// contentFlags are those of a command that measures what a content folder holds.
func contentFlags(f *pflag.FlagSet, content, cache *string) {
	f.StringVar(content, "content", "content", "the folder with site.yaml, bench and releases")
	f.StringVar(cache, "cache", filepath.Join("build", "cache"), "the folder that keeps measurements; safe to delete")
}

// checkCache keeps the cache out of the notes, as build does.
func checkCache(content, cache string) error {
	if cache == "" {
		return errors.New("--cache is empty; name a folder")
	}
	inside, err := resolve(content)
	if err != nil {
		return err
	}
	folder, err := resolve(cache)
	if err != nil {
		return err
	}
	if holds(inside, folder) {
		return fmt.Errorf("--cache %q is inside the content folder, %s; name a folder outside it", cache, inside)
	}
	return nil
}

// askedFor is the site with the named releases alone, each once, or with all where
// none is named.
func askedFor(s *release.Site, names []string) (*release.Site, error) {
	some := *s
	if len(names) > 0 {
		some.Releases = nil
	}
	for _, name := range names {
		r, err := findRelease(s, name)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(some.Releases, func(q release.Release) bool { return q.Number == r.Number }) {
			some.Releases = append(some.Releases, *r)
		}
	}
	return &some, nil
}

// alone is the site with one release and no plates, for whoever does not ask what
// fits on them.
func alone(s *release.Site, r *release.Release) *release.Site {
	one := *s
	one.Releases, one.Bench.Plates = []release.Release{*r}, nil
	return &one
}

// loaded reads a content folder, with the cache to remember what was looked at.
func loaded(content, cache string) (*release.Site, error) {
	salt, err := store.ProgramSalt()
	if err != nil {
		return nil, err
	}
	return release.LoadKnowing(content, store.Open(cache, salt))
}

// surveyed measures a site, or takes from the cache what was measured before, and
// opens the cache for what is asked further.
func surveyed(ctx context.Context, s *release.Site, cache string, stderr io.Writer) (survey.Survey, *store.Store, error) {
	salt, err := store.ProgramSalt()
	if err != nil {
		return nil, nil, err
	}
	st := store.Open(cache, salt).Warning(func(err error) {
		fmt.Fprintf(stderr, "--cache %s cannot be written: %v; what is measured now is not kept, and nothing else changes\n", cache, infile.Cause(err))
	})
	on := newStatus(stderr)
	defer on.done()
	found, err := survey.Run(ctx, s, st, on.counted("measuring", len(s.Cuts())))
	return found, st, err
}

// checked measures a site and holds it against the bench: see verdict.Check. It is how every
// command begins that tells more than measurements.
func checked(ctx context.Context, s *release.Site, cache string, stderr io.Writer) (*verdict.Checked, *store.Store, error) {
	found, st, err := surveyed(ctx, s, cache, stderr)
	if err != nil {
		return nil, nil, err
	}
	lost, err := history.CheckSealed(ctx, s, st)
	if err != nil {
		return nil, nil, err
	}
	c, err := verdict.Check(ctx, s, found, lost)
	return c, st, err
}

// judged adds to what was checked its history and, for pages, its laid plates.
func judged(ctx context.Context, c *verdict.Checked, st *store.Store, laid map[int][]*plates.Set) (*verdict.Judged, error) {
	past, err := history.Of(ctx, c.Site, c.Survey, st, nil)
	if err != nil {
		return nil, err
	}
	return c.Judge(past, laid), nil
}
