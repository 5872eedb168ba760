package assay

import (
	"meniscus/setup"
)

func coverage(freedom float64) float64                  { return 2 }
func buretteTolerance(s *setup.Setup) (float64, string) { return 0, "" }
