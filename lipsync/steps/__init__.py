"""The steps in order, each for one production: listen, plan, print, count, and the questions beside the plan."""
