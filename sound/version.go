package sound

// Version names the way notes are computed: notes of one version are the same
// to the bit. Whoever keeps notes elsewhere than in a Cache keeps it with them.
func Version() string { return modelVersion() }
