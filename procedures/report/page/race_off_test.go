//go:build !race

package page

// raceDetector tells that the tests run many times slower than otherwise.
const raceDetector = false
