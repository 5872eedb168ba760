package main

// diagnosedRuns is up to how many runs are diagnosed unasked, and the bias of
// methods worked out: that takes some more fits for each.
const diagnosedRuns = 50

func (o evaluateOptions) diagnosis(runs int) (bool, error) {
	switch o.diagnose {
	case "auto":
		return runs <= diagnosedRuns, nil
	case "yes":
		return true, nil
	case "no":
		return false, nil
	}
	return false, misused("--diagnose %q: yes, no or auto", o.diagnose)
}
