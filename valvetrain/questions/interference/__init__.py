"""Room between rocker, retainer, seal and stand."""
