package workshop

import (
	"cmp"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// Leftovers are the files beside path that an earlier run has made under the
// same name and that are not among made, which are all files of this run: beds,
// spools, pianos, pages that the piece no longer has, or has no longer on this
// machine. Where o asks for one piano or one spool, files of the others are none.
// Shorter names come first, so that numbers are in their order.
func (j *Job) Leftovers(path string, made []string, o *Options) []string {
	name := j.partNames(path, o)
	if name == nil {
		return nil
	}
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		return nil // what cannot be listed cannot be warned of
	}
	extension := filepath.Ext(path)
	stem := filepath.Base(strings.TrimSuffix(path, extension))
	isPart := func(file string) bool {
		file, begins := strings.CutPrefix(file, stem)
		file, ends := strings.CutSuffix(file, extension)
		return begins && ends && name.MatchString(file)
	}
	var left []string
	for _, e := range entries {
		there := filepath.Join(filepath.Dir(path), e.Name())
		same := func(m string) bool { return filepath.Clean(m) == there }
		if e.Type().IsRegular() && isPart(e.Name()) && !slices.ContainsFunc(made, same) {
			left = append(left, there)
		}
	}
	slices.SortFunc(left, func(a, b string) int { return cmp.Or(len(a)-len(b), strings.Compare(a, b)) })
	return left
}

// partNames are what names of files that Write may make for path have between its
// name and its extension; nil where it makes path alone, whatever the piece. Name
// and extension are compared as bytes: they may be no text.
func (j *Job) partNames(path string, o *Options) *regexp.Regexp {
	p, err := ProductOf(path, o)
	if err != nil || p.Parts == 0 {
		return nil
	}
	extension := filepath.Ext(path)
	part := ""
	if p.Parts&ByPiano != 0 && !(p.For == ForBench && extension == ".csv") { // a table of rows has those of all pianos
		part += j.pianoPart(o)
	}
	if p.Parts&BySpool != 0 {
		part += spoolPart(o)
	}
	if p.Parts&ByPiano != 0 {
		part += `(-bed-[0-9]+)?` // of a machine, then or now
	}
	if p.Parts&ByPage != 0 {
		part += `(-page-[0-9]+)?`
	}
	return regexp.MustCompile("^" + part + "$")
}

func (j *Job) pianoPart(o *Options) string {
	var names []string
	for _, p := range j.Pianos {
		if p.Name != "" {
			names = append(names, regexp.QuoteMeta(fileName(p.Name)))
		}
	}
	if o.Piano != "" || names == nil {
		return ""
	}
	return "(-(" + strings.Join(names, "|") + "))?"
}

func spoolPart(o *Options) string {
	if o.Spool > 0 {
		return regexp.QuoteMeta(spoolSuffix(o.Spool))
	}
	return `(-spool-[0-9]+)?`
}

// slideFile is a file of a step: its number and name, and what it is.
var slideFile = regexp.MustCompile(`^([0-9]{2,}-.+)\.(png|svg|wav|flac)$`)

// SlideLeftovers are the files of steps in folder that an earlier run has made
// and that are not among made, the names of all files of this run: steps that
// the lecture no longer has, or that have other numbers or another sound now. A
// step is known by its picture in both formats, so that files that a person has
// put there and numbered are none.
func SlideLeftovers(folder string, made []string) []string {
	entries, err := os.ReadDir(folder) // sorted by name
	if err != nil {
		return nil // what cannot be listed cannot be warned of
	}
	has := map[string]bool{}
	for _, e := range entries {
		has[e.Name()] = e.Type().IsRegular()
	}
	var left []string
	for _, e := range entries {
		of := slideFile.FindStringSubmatch(e.Name())
		if of != nil && has[e.Name()] && has[of[1]+".png"] && has[of[1]+".svg"] && !slices.Contains(made, e.Name()) {
			left = append(left, filepath.Join(folder, e.Name()))
		}
	}
	return left
}
