package figure_test

import (
	"fmt"
	"math"
	"os"

	"meniscus/report/figure"
)

func ExampleSketch() {
	var c figure.Curve
	for v := 0.5; v <= 40; v += 0.5 {
		c.ModelVolume = append(c.ModelVolume, v)
		c.ModelValue = append(c.ModelValue, 7+4*math.Tanh(v-20))
	}
	if err := figure.Sketch(os.Stdout, c, 40, 8, false); err != nil {
		fmt.Println(err)
	}
	// Output:
	// value
	//    |                   .................
	// 10 +                  .
	//    |                  .
	//    |                  .
	//    |                 ..
	//  5 +                 .
	//    |                 .
	//    |.................
	//    ++--------+--------+--------+-------+
	//     0       10       20       30      40
	// volume added
}
