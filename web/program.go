package web

import "runtime/debug"

// programName says which program computed a result.
func programName() string {
	name := "meniscus"
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return name + " " + v
	}
	for _, x := range info.Settings {
		if x.Key == "vcs.revision" && len(x.Value) >= 12 {
			return name + " " + x.Value[:12]
		}
	}
	return name
}
