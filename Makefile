.PHONY: demo test bench fuzz golden

# Everything for one demo piece, into a folder.
demo:
	go run ./cmd/rollwright new --example two-shuttles out/demo.piece --again
	go run ./cmd/rollwright build out/demo.piece out/demo

test:
	scripts/test

# The numbers that the documents state. They are measured, not asserted.
bench:
	go test -run '^$$' -bench . -benchmem ./...

# Every fuzz target for a minute each.
fuzz:
	scripts/fuzz

# Rewrites the expected outputs; look at the difference before committing it.
golden:
	go test ./... -update
