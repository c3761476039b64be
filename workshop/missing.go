package workshop

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/text/source"
)

// missing is the complaint about an instrument whose file is not there.
func (j *Job) missing(name string) (problem, hint string) {
	problem = fmt.Sprintf("there is no file %s; it is looked for beside the piece", source.Printable(name))
	if strings.ContainsAny(name, `/\`) {
		return fmt.Sprintf("there is no file %s; its path counts from the folder of the piece", source.Printable(name)),
			instrumentHint
	}
	if near := j.nearInstrument(name); near != "" {
		return problem, fmt.Sprintf("did you mean instrument = %q?", near)
	}
	return problem, instrumentHint
}

// nearInstrument is the name of a file beside the piece, or of a built-in
// instrument, that is near to the name of a file; or empty. A built-in one may
// have been named as if it were a file.
func (j *Job) nearInstrument(name string) string {
	var names []string
	entries, err := os.ReadDir(j.Folder) // where it cannot be read, the built-in ones are left
	for _, e := range entries {
		if err == nil && !e.IsDir() && strings.HasSuffix(e.Name(), instrument.Extension) {
			names = append(names, strings.TrimSuffix(e.Name(), instrument.Extension))
		}
	}
	files := len(names)
	for _, l := range instrument.List() {
		names = append(names, l.Name)
	}
	near, ok := source.Nearest(strings.TrimSuffix(name, instrument.Extension), names)
	switch {
	case !ok:
		return ""
	case slices.Contains(names[:files], near):
		return near + instrument.Extension
	}
	return near
}
