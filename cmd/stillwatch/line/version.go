package line

import "runtime/debug"

// release is set by the linker when a release is built: -ldflags "-X stillwatch/cmd/stillwatch/line.release=1.2.3".
var release string

// Version returns the release, or what the build knows of the source it was made from.
func Version() string {
	if release != "" {
		return release
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "development"
	}
	revision, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = "+changes"
		}
	}
	if len(revision) < 12 {
		return "development"
	}
	return "development " + revision[:12] + changed
}
