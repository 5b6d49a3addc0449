package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"runtime"
	"runtime/debug"

	"haltmark/bench/evidence"
)

// buildHash is the SHA-256 of the program itself: the name of its build.
func buildHash() (string, error) {
	name, err := os.Executable()
	if err != nil {
		return "", err
	}
	f, err := os.Open(name)
	if err != nil {
		return "", err
	}
	defer func() { _ = f.Close() }() // it was only read
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// versions lists the versions of program, language and dependencies.
func versions() []evidence.Version {
	all := []evidence.Version{{Name: "go", Version: runtime.Version()}}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return all
	}
	all = append([]evidence.Version{{Name: info.Main.Path, Version: info.Main.Version}}, all...)
	for _, d := range info.Deps {
		all = append(all, evidence.Version{Name: d.Path, Version: d.Version})
	}
	return all
}
