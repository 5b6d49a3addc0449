package main

import (
	"fmt"
	"io"
	"os"

	"golang.org/x/term"
)

// caution stands at the end of every run.
const caution = "Caution: this is test evidence, not a safety assessment. The bench replaces no " +
	"emergency stop, lock-out or guard. Never connect it to drives that can move an antenna."

// console is where a command writes. On a terminal progress is one line that
// changes; elsewhere it is plain lines.
type console struct {
	out, err io.Writer
	width    int  // of the terminal; 0 elsewhere
	live     bool // the changing line is there
}

func newConsole(out, err *os.File) *console {
	c := &console{out: out, err: err}
	if fd := int(err.Fd()); term.IsTerminal(fd) {
		c.width = 80
		if w, _, err := term.GetSize(fd); err == nil && w > 0 {
			c.width = w
		}
	}
	return c
}

// say prints a line of the result.
func (c *console) say(format string, args ...any) {
	c.clear()
	_, _ = fmt.Fprintf(c.out, format+"\n", args...) // whoever closed it wants no more
}

// complain prints a line about what is wrong.
func (c *console) complain(format string, args ...any) {
	c.clear()
	_, _ = fmt.Fprintf(c.err, format+"\n", args...)
}

// progress shows how far a run has come.
func (c *console) progress(line string) {
	if c.width == 0 {
		c.say("%s", line)
		return
	}
	if runes := []rune(line); len(runes) >= c.width {
		line = string(runes[:c.width-1])
	}
	_, _ = fmt.Fprintf(c.err, "\r\x1b[K%s", line)
	c.live = true
}

// clear takes the changing line away.
func (c *console) clear() {
	if c.live {
		_, _ = fmt.Fprint(c.err, "\r\x1b[K")
		c.live = false
	}
}
