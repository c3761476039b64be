package judge

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// court notes how a test ends instead of ending one.
type court struct {
	testing.TB
	said string
}

func (c *court) Helper() {}
func (c *court) Fatalf(format string, args ...any) {
	c.said = "fails: " + fmt.Sprintf(format, args...)
	runtime.Goexit()
}
func (c *court) Skipf(format string, args ...any) {
	c.said = "is skipped: " + fmt.Sprintf(format, args...)
	runtime.Goexit()
}

// ended is how a test that does something ends.
func ended(do func(testing.TB)) string {
	c, done := &court{}, make(chan bool)
	go func() { defer close(done); do(c) }()
	<-done
	return c.said
}

func TestMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	program := func(tb testing.TB) { Program(tb, "qpdf") }
	t.Setenv("CI", "")
	if got, want := ended(program), "is skipped: qpdf is missing (apt-get install qpdf): nobody judges this"; got != want {
		t.Errorf("the test %s; want: %s", got, want)
	}
	t.Setenv("CI", "1")
	if got, want := ended(program), "fails: qpdf is missing: apt-get install qpdf"; got != want {
		t.Errorf("the test %s; want: %s", got, want)
	}
	for name, do := range map[string]func(testing.TB){
		"program": func(tb testing.TB) { Program(tb, "no-such-judge") },
		"module":  func(tb testing.TB) { Python(tb, "no-such-judge") },
	} {
		if got := ended(do); !strings.HasPrefix(got, "fails: judge: the package of no-such-judge") {
			t.Errorf("an unknown %s: the test %s", name, got)
		}
	}
}

func TestRun(t *testing.T) {
	if got := string(Script(t, "decimal", "import sys\nprint(sys.argv[1])", "A0")); got != "A0\n" {
		t.Errorf("%q", got)
	}
	if got := ended(func(tb testing.TB) {
		Script(tb, "decimal",
			"import sys\nsys.exit('wrong')")
	}); !strings.HasPrefix(got, "fails: decimal: exit status 1") ||
		!strings.Contains(got, "wrong") {
		t.Errorf("a complaint: the test %s", got)
	}
}
