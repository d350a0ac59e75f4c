package literal

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestNothingThatATerminalObeysPasses(t *testing.T) {
	for raw, want := range map[string]string{
		"plain, ä and 𝄞":          "plain, ä and 𝄞",
		"\x1b[2J":                 `\u001b[2J`,
		"\u009b2J":                `\u009b2J`,
		"\x9b2J":                  `\x9b2J`,
		"a\u202elts.xe":           `a\u202elts.xe`,
		"\u2066a\u2069":           `\u2066a\u2069`,
		"\x7f\b\r":                `\u007f\u0008\u000d`,
		"a\u2028b\ufeff":          `a\u2028b\ufeff`,
		"\xf0\x9d\x84":            `\xf0\x9d\x84`,
		"two\nlines\tapart":       `two\u000alines\u0009apart`,
		"soft\u00adhyphen \u200d": "soft\u00adhyphen \u200d",
	} {
		require.Equal(t, want, Line(raw), "%q", raw)
	}
}

// However a text is cut into writes, the same arrives, and what arrives is the
// text within lines.
func TestAWriterShowsWhatLineShows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.OneOf(rapid.SliceOf(rapid.Byte()), rapid.Map(rapid.String(), func(s string) []byte { return []byte(s) }),
			rapid.Map(rapid.SliceOf(rapid.SampledFrom([]string{"\x1b", "\u009b", "\u202e", "é", "𝄞", "\x9b", "\n", "\t", "a"})), func(s []string) []byte {
				var b bytes.Buffer
				for _, p := range s {
					b.WriteString(p)
				}
				return b.Bytes()
			})).Draw(t, "text")
		var out bytes.Buffer
		w := NewWriter(&out)
		for rest := raw; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "cut")
			wrote, err := w.Write(rest[:n])
			require.NoError(t, err)
			require.Equal(t, n, wrote)
			rest = rest[n:]
		}
		require.NoError(t, w.Close())
		var want bytes.Buffer
		for i, line := range bytes.Split(raw, []byte("\n")) {
			if i > 0 {
				want.WriteByte('\n')
			}
			for k, word := range bytes.Split(line, []byte("\t")) {
				if k > 0 {
					want.WriteByte('\t')
				}
				want.WriteString(Line(string(word)))
			}
		}
		require.Equal(t, want.String(), out.String())
		for _, r := range out.String() {
			require.True(t, r == '\n' || r == '\t' || !Obeyed(r), "%q", r)
		}
	})
}

func TestJSONKeepsItsMeaning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.SampledFrom([]rune("\x00\x1b\x7f\u0085\u009b\u202e\u2028\ufeff\"\\")))).Draw(t, "text")
		data, err := json.Marshal(s)
		require.NoError(t, err)
		var out bytes.Buffer
		w := NewWriter(&out)
		_, err = w.Write(data)
		require.NoError(t, err)
		require.NoError(t, w.Close())
		var back string
		require.NoError(t, json.Unmarshal(out.Bytes(), &back), out.String())
		require.Equal(t, s, back)
	})
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("full") }

func TestAWritersErrorIsTold(t *testing.T) {
	w := NewWriter(full{})
	_, err := w.Write([]byte("a"))
	require.EqualError(t, err, "full")
	_, err = w.Write([]byte("\xe2\x80")) // held
	require.NoError(t, err)
	require.EqualError(t, w.Close(), "full")
}
