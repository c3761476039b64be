// Package judge finds programs of Debian by which a test holds our output
// against something that is not ours. It is for tests alone.
//
// A program that is not installed skips the test and says so; where CI is set in
// the environment it fails the test, so that no judge is missing unnoticed.
package judge

import (
	"bytes"
	"os"
	"os/exec"
	"testing"
)

// programs are the judges, each with the package that has it.
var programs = map[string]string{
	"chromium":     "chromium",
	"flac":         "flac",
	"ffmpeg":       "ffmpeg",
	"ffprobe":      "ffmpeg",
	"fluidsynth":   "fluidsynth",
	"musescore3":   "musescore3",
	"metaflac":     "flac",
	"mutool":       "mupdf-tools",
	"pdffonts":     "poppler-utils",
	"pdfinfo":      "poppler-utils",
	"pdftoppm":     "poppler-utils",
	"pdftotext":    "poppler-utils",
	"ppm2tiff":     "libtiff-tools",
	"qpdf":         "qpdf",
	"rs274":        "linuxcnc-uspace",
	"rsvg-convert": "librsvg2-bin",
	"sox":          "sox",
	"tiffcp":       "libtiff-tools",
	"soxi":         "sox",
	"xmllint":      "libxml2-utils",
}

// python is Debian's own, which has the modules below; another before it on the
// path might not.
const python = "/usr/bin/python3"

// modules are the judges that are modules of Python, each with the package that
// has it.
var modules = map[string]string{
	"cv2":       "python3-opencv",
	"decimal":   "python3",
	"ezdxf":     "python3-ezdxf",
	"fontTools": "python3-fonttools",
	"mido":      "python3-mido",
	"mpmath":    "python3-mpmath",
	"scipy":     "python3-scipy",
}

// Program is the path of the named judge.
func Program(tb testing.TB, name string) string {
	tb.Helper()
	from, ok := programs[name]
	if !ok {
		tb.Fatalf("judge: the package of %s is not written down", name)
	}
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(tb, name, "apt-get install "+from)
	}
	return path
}

// Python is the path of a Python that has the named module.
func Python(tb testing.TB, module string) string {
	tb.Helper()
	from, ok := modules[module]
	if !ok {
		tb.Fatalf("judge: the package of %s is not written down", module)
	}
	if exec.Command(python, "-c", "import "+module).Run() != nil {
		Missing(tb, "the Python module "+module, "apt-get install "+from)
	}
	return python
}

// File is a file that judges, at path, which is had in the way that how says.
func File(tb testing.TB, path, how string) string {
	tb.Helper()
	if _, err := os.Stat(path); err != nil {
		Missing(tb, path, how)
	}
	return path
}

// Missing skips a test that needs what is not there, or fails it where CI is set;
// how says how it is had.
func Missing(tb testing.TB, what, how string) {
	tb.Helper()
	if os.Getenv("CI") != "" {
		tb.Fatalf("%s is missing: %s", what, how)
	}
	tb.Skipf("%s is missing (%s): nobody judges this", what, how)
}

// Run runs the named judge and is what it prints. The test fails when the judge
// complains.
func Run(tb testing.TB, name string, args ...string) []byte {
	tb.Helper()
	return run(tb, name, Program(tb, name), args)
}

// Script runs a script for Python with the named module, as Run does.
func Script(tb testing.TB, module, script string, args ...string) []byte {
	tb.Helper()
	return run(tb, module, Python(tb, module), append([]string{"-c", script}, args...))
}

func run(tb testing.TB, name, path string, args []string) []byte {
	tb.Helper()
	cmd := exec.Command(path, args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		tb.Fatalf("%s: %v\n%s%s", name, err, out, stderr.Bytes())
	}
	return out
}
