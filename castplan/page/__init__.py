"""The page on the shop's own computer: jobs, planning, a loopback server."""
