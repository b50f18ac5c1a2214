package quantity

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Money is an amount of a currency. Amounts are for weighing repairs, not for
// book-keeping: they are floats, and printed to the cent.
type Money struct {
	Amount   float64 // of the currency, of either sign
	Currency string  // ISO 4217 code, such as "USD"
}

// Rate is money per hour of work.
type Rate struct {
	PerHour  float64 // of the currency, not negative
	Currency string  // ISO 4217 code
}

// Cost is what the rate makes of a duration.
func (r Rate) Cost(d Duration) Money {
	return Money{Amount: r.PerHour * d.Hours(), Currency: r.Currency}
}

// rateName is what errors call a rate.
const rateName = "rate"

// highestAmount keeps amounts where cents are still exact in a float (judgement).
const highestAmount = 1e12

// currency is one that is known by more than its code.
type currency struct {
	code, sign string
	words      []string
}

// signed currencies print with their sign before the amount. "$" is read as USD.
var signed = []currency{
	{"USD", "$", []string{"$", "us$", "dollar", "dollars"}},
	{"EUR", "€", []string{"€", "euro", "euros"}},
	{"GBP", "£", []string{"£"}},
	{"JPY", "¥", []string{"¥", "yen"}},
	{"INR", "₹", []string{"₹", "rs", "rupee", "rupees"}},
	{"CAD", "", []string{"c$", "ca$"}},
	{"AUD", "", []string{"a$", "au$"}},
	{"NZD", "", []string{"nz$"}},
}

// codes are the ISO 4217 codes that are read (from memory; the list can grow).
var codes = strings.Fields(`USD EUR GBP AED ARS AUD BDT BGN BRL CAD CHF CLP CNY COP CZK DKK EGP GEL GHS
	HKD HUF IDR ILS INR ISK JOD JPY KES KRW KWD KZT LKR MAD MXN MYR NGN NOK NPR NZD PEN PHP PKR PLN
	QAR RON RSD SAR SEK SGD THB TRY TWD TZS UAH UGX UYU VND ZAR`)

var amountFirst = regexp.MustCompile(`^[+-]? ?[\d.,]`)

// ParseMoney reads an amount with its currency: "$120", "2400 USD", "2.400 €", "€95.50".
func ParseMoney(text string) (Money, error) {
	m, err := readMoney("money", text, tidy(text), `"$120" or "120 EUR"`)
	return m, err
}

// ParseRate reads money per hour: "$120/h", "95 €/hr", "120 USD per hour", "$2/min".
func ParseRate(text string) (Rate, error) {
	const quantity, instead = rateName, `"$120/h" or "120 EUR/h"`
	s := strings.ReplaceAll(tidy(text), " per ", "/")
	cut := strings.LastIndex(s, "/")
	if cut < 0 {
		return Rate{}, &ParseError{quantity, clip(text), "has no time", instead}
	}
	word := normaliseUnit(s[cut+1:])
	u, ok := durationUnits.byWord(word)
	if !ok {
		return Rate{}, &ParseError{quantity, clip(text), fmt.Sprintf("is per %q, which is no time", word), instead}
	}
	m, err := readMoney(quantity, text, strings.TrimSpace(s[:cut]), instead)
	if err != nil {
		return Rate{}, err
	}
	perHour := m.Amount / u.toSI(1) * 3600
	if !(perHour >= 0 && perHour <= highestAmount) {
		return Rate{}, &ParseError{quantity, text, "cannot be: a rate is not negative, and below a million million", instead}
	}
	return Rate{PerHour: perHour, Currency: m.Currency}, nil
}

func readMoney(quantity, text, s, instead string) (Money, error) {
	fail := func(problem string) (Money, error) {
		return Money{}, &ParseError{quantity, clip(text), problem, instead}
	}
	if len(text) > longestText {
		return fail("is too long")
	}
	if s == "" {
		return fail("is empty")
	}
	// The currency may stand before the amount ("$120", "-$5", "USD 120") or after it.
	word, amount := "", s
	if !amountFirst.MatchString(s) {
		at := strings.IndexAny(s, "0123456789.,")
		if at < 0 {
			return fail("is not an amount")
		}
		word, amount = strings.TrimSpace(s[:at]), s[at:]
		if rest, negative := strings.CutPrefix(word, "-"); negative {
			word, amount = strings.TrimSpace(rest), "-"+amount
		} else if rest, negative := strings.CutSuffix(word, "-"); negative {
			word, amount = strings.TrimSpace(rest), "-"+amount
		}
	}
	number, rest, problem := readNumber(amount, true)
	if problem != "" {
		return fail(problem)
	}
	if word != "" && rest != "" {
		return fail(fmt.Sprintf("has words on both sides of the amount (%q and %q)", word, rest))
	}
	if word += rest; word == "" {
		return fail("has no currency")
	}
	code, near := currencyCode(word)
	if code == "" {
		if near != "" {
			instead = strings.TrimSpace(strings.TrimSuffix(amount, rest)) + " " + near
			if quantity == rateName {
				instead += "/h"
			}
			instead = strconv.Quote(instead)
		}
		return fail(fmt.Sprintf("has an unknown currency %q", word))
	}
	if !(math.Abs(number) <= highestAmount) {
		return fail("is too large to mean anything")
	}
	return Money{Amount: number, Currency: code}, nil
}

// currencyCode finds the code of a sign, word or code, or the nearest code.
func currencyCode(word string) (code, near string) {
	lower := strings.ToLower(strings.ReplaceAll(word, " ", ""))
	for _, c := range signed {
		for _, w := range c.words {
			if w == lower {
				return c.code, ""
			}
		}
	}
	for _, c := range codes {
		if strings.ToLower(c) == lower {
			return c, ""
		}
	}
	known := slices.Clone(codes)
	for _, c := range signed {
		known = append(known, c.words...)
	}
	if near = Nearest(word, known); near != "" {
		near, _ = currencyCode(near)
	}
	return "", near
}

// String prints the money to the cent, cents only where there are some: "$120", "2400 CHF".
func (m Money) String() string {
	amount := strconv.FormatFloat(math.Abs(m.Amount), 'f', 2, 64)
	amount = grouped(strings.TrimSuffix(amount, ".00"))
	minus := ""
	if m.Amount < 0 && strings.Trim(amount, "0.") != "" {
		minus = "-"
	}
	for _, c := range signed {
		if c.code == m.Currency && c.sign != "" {
			return minus + c.sign + amount
		}
	}
	return strings.TrimSpace(minus + amount + " " + m.Currency)
}

// grouped puts a comma between thousands, as ParseMoney reads them: "2,400.50".
func grouped(amount string) string {
	whole, cents, _ := strings.Cut(amount, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if cents != "" {
		return whole + "." + cents
	}
	return whole
}

// String prints the rate: "$120/h".
func (r Rate) String() string { return Money{r.PerHour, r.Currency}.String() + "/h" }

// MarshalText writes "120 USD", with as many digits as the amount has.
func (m Money) MarshalText() ([]byte, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	return []byte(exactAmount(m.Amount) + " " + m.Currency), nil
}

// UnmarshalText reads what ParseMoney reads.
func (m *Money) UnmarshalText(text []byte) (err error) {
	*m, err = ParseMoney(string(text))
	return err
}

// MarshalText writes "120 USD/h", with as many digits as the amount has.
func (r Rate) MarshalText() ([]byte, error) {
	if err := (Money{r.PerHour, r.Currency}).check(); err != nil {
		return nil, err
	}
	return []byte(exactAmount(r.PerHour) + " " + r.Currency + "/h"), nil
}

// UnmarshalText reads what ParseRate reads.
func (r *Rate) UnmarshalText(text []byte) (err error) {
	*r, err = ParseRate(string(text))
	return err
}

func (m Money) check() error {
	if !(math.Abs(m.Amount) <= highestAmount) {
		return fmt.Errorf("money: amount %g cannot be written", m.Amount)
	}
	if code, _ := currencyCode(m.Currency); code != m.Currency || code == "" {
		return fmt.Errorf("money: unknown currency %q", m.Currency)
	}
	return nil
}

// exactAmount writes all digits, and never exactly three decimals, which would read
// as thousands.
func exactAmount(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if dot := strings.IndexByte(s, '.'); dot >= 0 && len(s)-dot == 4 {
		s += "0"
	}
	return s
}
