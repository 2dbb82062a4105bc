# The peers' programs and the real case, which are no part of the project.
SHARED ?= ../shared

.PHONY: bench peers

# Ours and the peers' on the same work, one after the other. Keep the machine quiet.
bench:
	go run ./internal/peers/benchtable $(SHARED)

# Distances against CGAL and FCL; fails where they are not installed.
peers:
	CUSPTRACE_PEERS=require go test -count 1 -v ./internal/peers
