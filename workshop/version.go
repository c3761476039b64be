package workshop

import "runtime/debug"

// Version is the program's module version and the revision of its source, as far
// as the build knows them: "v1.2.0 (8c3f0a1b2c3d)", "8c3f0a1b2c3d, changed since".
func Version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	revision, changed := "", false
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			revision = s.Value[:min(len(s.Value), 12)]
		case "vcs.modified":
			changed = s.Value == "true"
		}
	}
	return versionText(info.Main.Version, revision, changed)
}

func versionText(version, revision string, changed bool) string {
	if changed && revision != "" {
		revision += ", changed since"
	}
	switch {
	case version == "" || version == "(devel)":
		if revision == "" {
			return "built from a source without a revision"
		}
		return revision
	case revision == "":
		return version
	}
	return version + " (" + revision + ")"
}
