# Compares what "fit --survival" tells of a table of liners with R, group by group:
#
#	Rscript .ci/liners.R TABLE.csv TOLD.csv WHETHER-PATIENTS-COUNT
#
# It prints the largest relative difference of each kind of number, and ends with status
# 1 where one is beyond 1e-6 or nothing was compared.
suppressMessages({library(survival); library(cmprsk)})
arg <- commandArgs(TRUE)
d <- read.csv(arg[1]); told <- read.csv(arg[2]); paired <- arg[3] == "patients"
d$rev <- d$event == 1; d$state <- factor(d$event, 0:2)
years <- c(1, 2, 5, 10, 15)
worst <- list()

# differ notes how far what was told, a row by its group, model and quantity, is from R.
differ <- function(kind, of, model, quantity, column, want) {
	got <- told[told$of == of & told$model == model & told$quantity == quantity, column]
	if (length(got) != 1 || is.na(got)) stop(paste("not told:", of, model, quantity, column))
	worst[[kind]] <<- max(c(worst[[kind]], abs(got - want) / max(abs(want), 1e-300)))
}

for (g in sort(unique(d$pe))) {
	s <- d[d$pe == g, ]
	km <- if (paired) survfit(Surv(years, rev) ~ 1, s, conf.type = "log-log", cluster = patient) else survfit(Surv(years, rev) ~ 1, s, conf.type = "log-log")
	aj <- survfit(Surv(years, state) ~ 1, s, influence = 1)
	for (y in years[years <= max(s$years)]) {
		k <- summary(km, times = y)
		row <- paste("not revised by year", y)
		differ("at risk", g, "Kaplan-Meier", paste("at risk at year", y), "value", k$n.risk)
		differ("not revised", g, "Kaplan-Meier", row, "value", k$surv)
		if (k$surv < 1) {
			differ("its error", g, "Kaplan-Meier", row, "se", k$std.err)
			differ("its interval", g, "Kaplan-Meier", row, "lo95", k$lower)
			differ("its interval", g, "Kaplan-Meier", row, "hi95", k$upper)
		} else {
			n <- if (paired) length(unique(s$patient[s$years >= y])) else sum(s$years >= y)
			differ("exact interval", g, "Kaplan-Meier", row, "lo95", binom.test(n, n)$conf.int[1])
		}
		U <- aj$influence[, 1 + sum(aj$time <= y), ]
		se <- sqrt(colSums((if (paired) rowsum(U, s$patient) else U)^2))
		p <- c(summary(aj, times = y)$pstate)
		for (e in 1:2) {
			row <- paste(c("revised by year", "event 2 first by year")[e], y)
			differ("share of an event", g, "Aalen-Johansen", row, "value", p[e + 1])
			if (p[e + 1] == 0) next
			a <- exp(c(1, -1) * qnorm(0.975) * se[e + 1] / (p[e + 1] * log(p[e + 1])))
			differ("its error", g, "Aalen-Johansen", row, "se", se[e + 1])
			differ("its interval", g, "Aalen-Johansen", row, "lo95", p[e + 1]^a[2])
			differ("its interval", g, "Aalen-Johansen", row, "hi95", p[e + 1]^a[1])
		}
	}
}
lr <- survdiff(Surv(years, rev) ~ pe, d)
differ("log-rank test", "", "log-rank test", "revised alike", "value", lr$chisq)
u <- cuminc(d$years, d$event, d$pe, cencode = 0)$Tests
differ("Gray's test", "", "Gray's test", "revised alike", "value", u[1, 1])
differ("Gray's test", "", "Gray's test", "event 2 alike", "value", u[2, 1])
m <- if (paired) coxph(Surv(years, rev) ~ (pe == "b") + (pe == "c") + rate, d, cluster = patient) else coxph(Surv(years, rev) ~ (pe == "b") + (pe == "c") + rate, d)
what <- c("b against a", "c against a", "rate by 0.1"); step <- c(1, 1, 0.1)
few <- 1; df <- Inf
if (paired) { f <- length(unique(d$patient[d$rev])); df <- f - 3; few <- f / df } # of patients with a revision, see Cox
se <- sqrt(diag(vcov(m)) * few) * step; b <- coef(m) * step
for (j in 1:3) {
	row <- paste("hazard ratio,", what[j])
	differ("hazard ratio", "", "Cox regression", row, "value", exp(b[j]))
	differ("its interval", "", "Cox regression", row, "lo95", exp(b[j] - qt(0.975, df) * se[j]))
	differ("its interval", "", "Cox regression", row, "hi95", exp(b[j] + qt(0.975, df) * se[j]))
	differ("its p", "", "Cox regression", row, "p", 2 * pt(-abs(b[j] / se[j]), df))
}
pick <- function(by) told$value[told$quantity == "no column matters" & told$convention == by]
if (paired) {
	worst[["tests of it"]] <- max(abs(pick("wald-patients") * few / m$wald.test - 1), abs(pick("score-patients") / m$rscore - 1))
} else {
	worst[["tests of it"]] <- max(abs(pick("wald") / m$wald.test - 1), abs(pick("score") / m$score - 1), abs(pick("likelihood-ratio") / (2 * diff(m$loglik)) - 1))
}
z <- cox.zph(m, "km", terms = FALSE)$table
for (j in 1:4) differ("the same at all times", "", "Cox regression", paste0("hazard ratio the same at all times, ", c(what, "all columns")[j]), "value", z[j, 1])

cat(sprintf("%d liners, %d revised, %s: survival %s, cmprsk %s; largest relative differences\n", nrow(d), sum(d$rev), arg[3], packageVersion("survival"), packageVersion("cmprsk")))
for (k in names(worst)) cat(sprintf("  %-22s %.1e\n", k, worst[[k]]))
if (max(unlist(worst)) > 1e-6) quit(status = 1)
