# Fits the mixed models that wearfit/mixed has to a table of readings, by general
# packages, and prints model,quantity,value: Rscript .ci/mixed.R TABLE.csv
suppressMessages({library(lme4); library(nlme); library(pbkrtest); library(metafor)})
d <- read.csv(commandArgs(TRUE)[1])
d$g <- as.numeric(d$group == "linked"); d$hip <- factor(d$hip); d$patient <- factor(d$patient)
d$film <- factor(paste(d$hip, d$film)); d$row <- factor(seq_len(nrow(d)))
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11, maxfun = 2e5), check.conv.singular = "ignore")
say <- function(model, what, value) cat(sprintf("%s,%s,%.12g\n", model, what, as.numeric(value)), sep = "")
fixed <- function(model, b, v) for (j in seq_along(b)) { say(model, paste0("b", j - 1), b[j]); say(model, paste0("se", j - 1), sqrt(v[j, j])) }
line <- function(model, prefix, cov) { say(model, paste0("sd_", prefix, "intercept"), sqrt(cov[1, 1])); say(model, paste0("sd_", prefix, "slope"), sqrt(cov[2, 2])) }

# lme4, with Kenward-Roger's errors by pbkrtest
lmers <- list(plain = penetration ~ years * g + (years | hip), film = penetration ~ years + (years | hip) + (1 | film),
	patient = penetration ~ years * g + (years | patient) + (years | hip))
for (n in names(lmers)) {
	m <- suppressWarnings(lmer(lmers[[n]], d, control = tight))
	say(n, "loglik", logLik(m)); fixed(n, fixef(m), as.matrix(vcov(m))); say(n, "sigma", sigma(m))
	line(n, "", VarCorr(m)$hip)
	if (n == "film") say(n, "sd_film", attr(VarCorr(m)$film, "stddev"))
	if (n == "patient") line(n, "patient_", VarCorr(m)$patient)
	adjusted <- vcovAdj(m)
	for (j in seq_along(fixef(m))) {
		l <- as.numeric(seq_along(fixef(m)) == j)
		say(n, paste0("kr_se", j - 1), sqrt(adjusted[j, j])); say(n, paste0("kr_df", j - 1), Lb_ddf(l, vcov(m), adjusted))
	}
	if (n != "film") { # what differs between groups, two columns at once
		k <- KRmodcomp(m, rbind(c(0, 0, 1, 0), c(0, 0, 0, 1)))$stats
		say(n, "kr_f", k$Fstat); say(n, "kr_scale", k$F.scaling); say(n, "kr_ddf", k$ddf); say(n, "kr_p", k$p.value)
	}
	u <- ranef(m)$hip
	for (h in rownames(u)[1:3]) { say(n, paste0("intercept_", h), u[h, 1]); say(n, paste0("slope_", h), u[h, 2]) }
}

# nlme: a residual variance for each reader
m <- lme(penetration ~ years, d, random = ~ years | hip, weights = varIdent(form = ~ 1 | reader),
	control = lmeControl(opt = "nlminb", msTol = 1e-12, tolerance = 1e-9, msMaxIter = 1000, msMaxEval = 5000, maxIter = 500))
say("class", "loglik", logLik(m)); fixed("class", fixef(m), vcov(m)); line("class", "", getVarCov(m))
of <- sigma(m) / attr(m$modelStruct$varStruct, "weights")
for (r in unique(d$reader)) say("class", paste0("sigma_", r), of[d$reader == r][1])

# metafor: errors of the readings known, that of the baseline film shared by a hip
v <- diag(d$se^2) + outer(d$hip, d$hip, "==") * outer(d$se_base, d$se_base)
search <- list(optimizer = "bobyqa", rhoend = 1e-10, maxfun = 1e5, REMLf = FALSE)
known <- function(n, mods, films, method) {
	random <- list(~ years | hip, ~ 1 | row); if (films) random <- c(random, list(~ 1 | film))
	m <- suppressWarnings(rma.mv(penetration, V = v, mods = mods, random = random, struct = "GEN", data = d, method = method, control = search, sparse = FALSE))
	say(n, "loglik", as.numeric(logLik(m))); fixed(n, as.numeric(m$beta), m$vb); line(n, "", m$G); say(n, "sigma", sqrt(m$sigma2[1]))
	if (films) say(n, "sd_film", sqrt(m$sigma2[2]))
}
known("known", ~ years, FALSE, "REML")
known("known_ml", ~ years, FALSE, "ML")
known("all", ~ years * g + years * I(age - 60), TRUE, "REML")
