# Reference values for tests/gauges/test_reml.py: variance components by REML.
# Data: Penicillin (crossed) and Pastes (nested) of lme4, Oxide (nested) of nlme, and each with
# readings removed. Run in this folder: Rscript components.R
library(lme4)
data(Oxide, package = "nlme")

tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6),
                     check.conv.singular = "ignore")

sets <- list(
  penicillin = list(
    data = data.frame(part = as.character(Penicillin$plate),
                      appraiser = as.character(Penicillin$sample), value = Penicillin$diameter),
    formula = value ~ 1 + (1 | part) + (1 | appraiser)),
  pastes = list(
    data = data.frame(batch = as.character(Pastes$batch), cask = as.character(Pastes$sample),
                      value = Pastes$strength),
    formula = value ~ 1 + (1 | batch) + (1 | cask)),
  oxide = list(
    data = data.frame(lot = as.character(Oxide$Lot),
                      wafer = paste(Oxide$Lot, Oxide$Wafer, sep = "/"), value = Oxide$Thickness),
    formula = value ~ 1 + (1 | lot) + (1 | wafer)))

found <- list()
for (name in names(sets)) {
  whole <- sets[[name]]$data
  write.csv(whole, paste0(name, ".csv"), row.names = FALSE, quote = FALSE)
  # Every seventh reading from the third on is missing in the second version.
  lost <- whole[-seq(3, nrow(whole), by = 7), ]
  for (kind in c("whole", "lost")) {
    fit <- lmer(sets[[name]]$formula, if (kind == "whole") whole else lost, control = tight)
    table <- as.data.frame(VarCorr(fit))
    values <- setNames(table$vcov, table$grp)
    found[[paste(name, kind, sep = "_")]] <-
      c(values, mean = unname(fixef(fit)), mean_se = sqrt(vcov(fit)[1, 1]), deviance = REMLcrit(fit))
  }
}

lines <- sapply(names(found), function(name) {
  values <- found[[name]]
  pairs <- sprintf('    "%s": %.12g', names(values), values)
  sprintf('  "%s": {\n%s\n  }', name, paste(pairs, collapse = ",\n"))
})
version <- sprintf('  "made_with": "R %s, lme4 %s, nlme %s"', getRversion(),
                   packageVersion("lme4"), packageVersion("nlme"))
writeLines(c("{", paste(c(version, lines), collapse = ",\n"), "}"), "components.json")
