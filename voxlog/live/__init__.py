"""The live follower: what is due, open and reached while the run goes on."""
