package dd_test

import (
	"fmt"

	"meniscus/num/dd"
)

// Ten millionths added to one and taken away again: float64 loses all of it.
func Example() {
	small := dd.From(1e-20)
	sum := dd.From(1).Add(small).Sub(dd.From(1))
	one := 1.0
	fmt.Println(sum.Float(), one+1e-20-one)
	// Output: 1e-20 0
}
