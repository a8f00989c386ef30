# The packs of the demo jobs, whose papers most tests look at.
set(tests_share_work ON)
