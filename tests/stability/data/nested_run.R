# Made the expected numbers in test_components.py (R 4, lme4, REML) from nested_run.csv beside it.
library(lme4)
d <- read.csv("nested_run.csv")
d$coil <- factor(d$coil)
d$stop <- factor(d$stop)
m <- lmer(value ~ 1 + (1 | coil / stop), data = d, REML = TRUE)
print(as.data.frame(VarCorr(m)), digits = 10)
