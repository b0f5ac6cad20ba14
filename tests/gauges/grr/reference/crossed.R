# REML variance components of crossed.csv by lme4; run in this folder: Rscript crossed.R
library(lme4)
data <- read.csv("crossed.csv", colClasses = c(part = "factor", appraiser = "factor"))
fit <- lmer(value ~ 1 + (1 | part) + (1 | appraiser) + (1 | part:appraiser), data, REML = TRUE,
            control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10)))
found <- as.data.frame(VarCorr(fit))
values <- setNames(found$vcov, found$grp)
cat(sprintf('{"versions": "R %s, lme4 %s",\n', getRversion(), packageVersion("lme4")),
    sprintf(' "part": %.12g,\n "appraiser": %.12g,\n "interaction": %.12g,\n "repeatability": %.12g}\n',
            values["part"], values["appraiser"], values["part:appraiser"], values["Residual"]),
    file = "crossed.json", sep = "")
