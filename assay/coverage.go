package assay

import "meniscus/uncertainty"

// coverage returns the factor that makes a standard uncertainty with so many
// degrees of freedom an interval of 95 %.
func coverage(freedom float64) float64 { return uncertainty.Coverage(0.95, freedom) }
