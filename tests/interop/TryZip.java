import java.io.InputStream;
import java.util.Collections;
import java.util.zip.CRC32;
import java.util.zip.ZipEntry;
import java.util.zip.ZipFile;

/** What java.util.zip.ZipFile makes of each file given: FILE, ", fails" or nothing, the names, with tabs between. */
public class TryZip {
    public static void main(String[] files) {
        for (String file : files) {
            System.out.println(file + "\t" + look(file));
        }
    }

    private static String look(String file) {
        StringBuilder names = new StringBuilder();
        boolean fails = false;
        try (ZipFile zip = new ZipFile(file)) {
            for (ZipEntry entry : Collections.list(zip.entries())) {
                names.append('\t').append(entry.getName().replaceAll("[\n\t]", "?"));
                fails |= !isWhole(zip, entry);
            }
        } catch (Exception refused) {
            return "";
        }
        return (fails ? ", fails" : "") + names;
    }

    private static boolean isWhole(ZipFile zip, ZipEntry entry) {
        CRC32 crc = new CRC32();
        byte[] piece = new byte[65536];
        try (InputStream in = zip.getInputStream(entry)) {
            for (int got; (got = in.read(piece)) > 0; ) {
                crc.update(piece, 0, got);
            }
        } catch (Exception broken) {
            return false;
        }
        return crc.getValue() == entry.getCrc();
    }
}
