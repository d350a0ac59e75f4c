package site

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

// Forms follow the SI brochure, 9th edition, 5.4: a space before the unit and
// between groups of three digits (here from five digits up), the minus sign.
func TestNumbersAreWrittenPlainly(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{number(0, 1), "0.0"},
		{number(-0.04, 1), "0.0"},
		{number(-1.25, 2), "−1.25"},
		{number(9999, 0), "9999"},
		{number(12345, 0), "12\u202f345"},
		{number(1234567.89, 1), "1\u202f234\u202f567.9"},
		{units{}.length(95.96), "96.0\u202fmm"},
		{units{inches: true}.length(25.4), "25.4\u202fmm (1.00\u202fin)"},
		{plain(1.5), "1.5\u202fmm"},
		{plain(0.05), "0.05\u202fmm"},
		{plain(300), "300\u202fmm"},
		{sizeMM(mesh.Vec{X: 1, Y: 2.25, Z: 30}), "1.0\u202f×\u202f2.2\u202f×\u202f30.0"},
		{volume(500), "0.500\u202fcm³"},
		{volume(12345), "12.3\u202fcm³"},
		{volume(123456), "123\u202fcm³"},
		{fileSize(1023), "1023\u202fbytes"},
		{fileSize(684 * 1024), "684\u202fKiB"},
		{fileSize(5 << 20), "5.0\u202fMiB"},
		{percent(0.8379), "83\u202f%"},
		{degrees(34.5), "34.5°"},
		{plural(1, "part", "parts"), "1 part"},
	} {
		require.Equal(t, c.want, c.got)
	}
}
