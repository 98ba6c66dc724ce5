package chaos

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// onAllCores calls work(i) for i from 0 to n-1, spread over as many goroutines
// as there are cores; each takes its own work function from prepare. The first
// error by number stops the rest and is returned.
func onAllCores(n int, prepare func() func(i int) error) error {
	var (
		wg     sync.WaitGroup
		next   atomic.Int64
		failed atomic.Bool
		mu     sync.Mutex
		first  error
		where  int
	)
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			work := prepare()
			for !failed.Load() {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if err := work(i); err != nil {
					mu.Lock()
					if first == nil || i < where {
						first, where = err, i
					}
					mu.Unlock()
					failed.Store(true)
				}
			}
		}()
	}
	wg.Wait()
	return first
}
