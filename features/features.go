package features

import "embed"

// Files are the feature files, by name.
//
//go:embed *.feature
var Files embed.FS
