// Asks veraPDF whether documents keep a PDF standard.
//
//   java -cp JARS Validate.java PROFILE[,PROFILE...] FILE...
//
// Prints a line a file and profile, then each broken rule once. Exit 0: all keep the standards; 1: a document breaks a
// rule; 2: the check itself could not be made, which a caller must never take for a verdict.

import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

final class Validate {
    private static final int BROKEN = 1;
    private static final int NOT_CHECKED = 2;

    public static void main(String[] arguments) {
        int exit = 0;
        try {
            if (arguments.length < 2) {
                throw new IllegalArgumentException("usage: Validate PROFILE[,PROFILE...] FILE...");
            }
            VeraGreenfieldFoundryProvider.initialise();
            for (PDFAFlavour profile : profiles(arguments[0])) {
                for (String name : List.of(arguments).subList(1, arguments.length)) {
                    if (!keeps(profile, Path.of(name))) {
                        exit = BROKEN;
                    }
                }
            }
        } catch (Exception | LinkageError fault) {
            System.err.println("not checked: " + fault);
            exit = NOT_CHECKED;
        }
        System.exit(exit);
    }

    private static List<PDFAFlavour> profiles(String names) {
        List<PDFAFlavour> found = new ArrayList<>();
        for (String name : names.split(",")) {
            PDFAFlavour profile = PDFAFlavour.fromString(name);
            // An unknown name gives a profile without rules, which every file would keep.
            if (profile == PDFAFlavour.NO_FLAVOUR) {
                throw new IllegalArgumentException("no profile is called " + name);
            }
            found.add(profile);
        }
        return found;
    }

    private static boolean keeps(PDFAFlavour profile, Path file) throws Exception {
        if (!Files.isReadable(file)) {
            throw new IllegalArgumentException("cannot read " + file);
        }
        ValidationResult verdict;
        try (var parser = Foundries.defaultInstance().createParser(file.toFile(), profile);
                var validator = Foundries.defaultInstance().createValidator(profile, false)) {
            verdict = validator.validate(parser);
        }
        int rules = verdict.getValidationProfile().getRules().size();
        if (rules == 0 || verdict.getTotalAssertions() == 0) {
            throw new IllegalStateException("profile " + profile.getId() + " tested nothing in " + file);
        }
        Map<String, Integer> broken = new TreeMap<>();
        for (TestAssertion test : verdict.getTestAssertions()) {
            if (test.getStatus() == TestAssertion.Status.FAILED) {
                var rule = test.getRuleId();
                broken.merge(rule.getClause() + " test " + rule.getTestNumber() + ": " + test.getMessage(), 1, Integer::sum);
            }
        }
        System.out.printf("%-6s %-4s %3d rules, %5d tests  %s%n", verdict.isCompliant() ? "keeps" : "BREAKS",
                profile.getId(), rules, verdict.getTotalAssertions(), file.getFileName());
        broken.forEach((rule, times) -> System.out.println("       " + times + " x " + rule));
        return verdict.isCompliant();
    }
}
