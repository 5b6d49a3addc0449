package main

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/term"
)

// caution stands at the end of every run.
const caution = "Caution: this is test evidence, not a safety assessment. The bench replaces no " +
	"emergency stop, lock-off or guard. Never connect it to drives that can move an antenna."

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
	c.print(c.out, format, args...)
}

// complain prints a line about what is wrong.
func (c *console) complain(format string, args ...any) {
	c.clear()
	c.print(c.err, format, args...)
}

// print writes a line, or several where the format or an error has several. A text from
// outside stays in its line.
func (c *console) print(to io.Writer, format string, args ...any) {
	for i, arg := range args {
		if text, ok := arg.(string); ok {
			args[i] = printable(text)
		}
	}
	lines := strings.Split(fmt.Sprintf(format, args...), "\n")
	for i := range lines {
		lines[i] = printable(lines[i])
	}
	_, _ = io.WriteString(to, strings.Join(lines, "\n")+"\n") // whoever closed it wants no more
}

// complaintLimit bounds the lines about one command's input.
const complaintLimit = 100

// complainOf prints what is wrong, a line each, and of very many the first.
func (c *console) complainOf(bad error) {
	count := 0
	for line := range strings.Lines(bad.Error()) {
		if count++; count <= complaintLimit {
			c.complain("%s", strings.TrimRight(line, "\n"))
		}
	}
	if count > complaintLimit {
		c.complain("and %d more; mend these first", count-complaintLimit)
	}
}

// progress shows how far a run has come.
func (c *console) progress(line string) {
	if c.width == 0 {
		c.say("%s", line)
		return
	}
	line = printable(line)
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

// printable writes as Go does in a string what a terminal would obey, and what would
// turn a line's order round: names come from files, and files from anybody.
func printable(text string) string {
	if strings.IndexFunc(text, hidden) < 0 {
		return text
	}
	var b strings.Builder
	for i, r := range text {
		switch {
		case !hidden(r):
			b.WriteRune(r)
		case r == unicode.ReplacementChar: // often a byte that is no letter
			fmt.Fprintf(&b, `\x%02x`, text[i])
		default:
			b.WriteString(strings.Trim(strconv.QuoteRuneToASCII(r), "'"))
		}
	}
	return b.String()
}

func hidden(r rune) bool { return !unicode.IsPrint(r) || r == unicode.ReplacementChar }
