package release

import "embed"

// Formats describes the files that Load reads, beside the code that reads them: content,
// part, notes and log, each as text for a terminal of 80 columns.
//
//go:embed format/*.txt
var Formats embed.FS
